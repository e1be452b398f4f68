"""Keep files of evidence; what they are is judged by their content."""

from datetime import datetime

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import transaction

from coop.access.actors import Actor
from coop.access.roles import Action
from coop.audit import writing
from properties.incidents.evidence import MB, NotEvidence, read_evidence
from properties.incidents.models import EvidenceContent, EvidenceFile, Incident
from properties.incidents.settings import IncidentSettings
from properties.land.models import Property
from properties.land.queries import setting_layers
from properties.land.settings import resolve


def settings_of(land: Property) -> IncidentSettings:
    return resolve(IncidentSettings, *setting_layers(land))


def most_bytes_of(incident: Incident) -> int:
    """How large a file may be, so that a larger one is not even read."""
    return settings_of(incident.property).most_file_mb * MB


def add_file(
    *, actor: Actor, incident: Incident, name: str, content: bytes, now: datetime
) -> EvidenceFile:
    """Keep a picture or a PDF with an incident; the same bytes again answer what is kept.

    Raises ``PermissionDenied`` for whoever neither manages incidents nor reported this one, and
    ``ValidationError`` for a file that is not taken, with the reason.
    """
    mine = actor.person_id is not None and actor.person_id == incident.reported_by_id
    if not (mine or actor.may(Action.INCIDENT_WRITE, incident.property_id)):
        raise PermissionDenied("only managers and whoever reported it add evidence")
    settings = settings_of(incident.property)
    try:
        evidence = read_evidence(
            content,
            name=name,
            most_bytes=settings.most_file_mb * MB,
            most_pixels=settings.most_megapixels * 1_000_000,
        )
    except NotEvidence as problem:
        raise ValidationError({"file": str(problem)}) from problem
    with transaction.atomic():
        # Two uploads at once are counted one after the other.
        Incident.objects.select_for_update(of=("self",)).get(id=incident.id)
        kept = list(EvidenceFile.objects.filter(incident=incident))
        for file in kept:
            if file.digest == evidence.digest:
                return file
        if len(kept) >= settings.most_files:
            raise ValidationError({"file": f"At most {settings.most_files} files are kept."})
        file = EvidenceFile(
            incident=incident,
            name=evidence.name,
            media_type=evidence.media_type,
            size_bytes=evidence.size_bytes,
            width_px=evidence.width_px,
            height_px=evidence.height_px,
            digest=evidence.digest,
            holds_position=evidence.holds_position,
            uploaded_by_id=actor.person_id,
        )
        writing.create(
            file,
            actor=actor,
            action=Action.INCIDENT_REPORT,
            now=now,
            property_id=incident.property_id,
        )
        EvidenceContent.objects.create(file=file, original=evidence.original, shown=evidence.shown)
    return file
