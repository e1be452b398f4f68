"""Columns of a sit as text, and the text as a calendar writes it.

A feed of a thousand events has four thousand instants. To make an object of each and then its
text again costs more than all the rest of the feed.
"""

from typing import Any

from django.db.models import CharField, Func

_SECONDS_END = 19
# Without the cast the driver knows the column and makes an object of it.
_AS_STORED = "CAST(%(expressions)s AS text)"


class InstantText(Func):
    """An instant in UTC as ``YYYY-MM-DD HH:MM:SS``, and perhaps a fraction of a second.

    So SQLite has them stored already, as text that Django wrote.
    """

    arity = 1
    output_field = CharField()
    template = "to_char(%(expressions)s AT TIME ZONE 'UTC', 'YYYY-MM-DD HH24:MI:SS')"

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return super().as_sql(compiler, connection, template=_AS_STORED, **context)


class IdText(Func):
    """An id in hexadecimal digits; SQLite stores it so, without hyphens."""

    arity = 1
    output_field = CharField()
    template = "(%(expressions)s)::text"

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        return super().as_sql(compiler, connection, template=_AS_STORED, **context)


def written_instant(text: str) -> str:
    """RFC 5545 section 3.3.5, form 2, of an :class:`InstantText`: to the second, cut off."""
    return text[:_SECONDS_END].replace("-", "").replace(" ", "T").replace(":", "") + "Z"


def written_id(text: str) -> str:
    """With hyphens (RFC 9562 section 4), of an :class:`IdText`."""
    if "-" in text:
        return text
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"
