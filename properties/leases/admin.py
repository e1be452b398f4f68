"""Leases in the admin: to look at; the API enters them, and checks their terms."""

from django.contrib import admin

from coop.admin import ReadOnlyAdmin
from properties.leases.models import Lease, Rent


@admin.register(Lease)
class LeaseAdmin(ReadOnlyAdmin):
    list_display = ["property", "first_on", "last_on", "landowner", "insured_until", "withdrawn_at"]
    list_filter = ["property"]
    list_select_related = ["property", "landowner"]


@admin.register(Rent)
class RentAdmin(ReadOnlyAdmin):
    list_display = ["lease", "due_on", "amount", "currency", "paid_on"]
    list_select_related = ["lease"]
