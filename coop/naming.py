"""How somebody is found in texts that hold no id of theirs: by names and addresses."""

import json
import re
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from html import escape
from typing import Any

# "Ann Lee" is neither Ann Leeson nor Mary-Ann Lee nor Ann Lee-Jones; Ann Lee's is hers.
_NAME = r"(?<!\w)(?<!\w-){}(?!\w)(?!-\w)"
# ann@a.example is neither joann@a.example nor mary.ann@a.example nor ann@a.example.org.
_ADDRESS = r"(?<![\w.+-])(?i:{})(?![\w-])(?!\.\w)"


@dataclass(frozen=True, kw_only=True)
class KnownAs:
    """Every name that texts tell somebody by, and the addresses that are theirs alone.

    Of a name within a text it has to be sure that it is a person's: one of a single word ("Oak")
    may be a word of the ground, and counts only where it stands alone.
    """

    names: frozenset[str]
    addresses: frozenset[str]

    @cached_property
    def names_within(self) -> frozenset[str]:
        """The names that are sought within texts."""
        return frozenset(name for name in self.names if " " in name)

    def are_named_in(self, *values: Any) -> bool:
        """Whether a text, or one of the texts in JSON values, is or holds one of the names."""
        return any(
            text in self.names or self._names.search(text) for each in values for text in _in(each)
        )

    def have_address_in(self, *values: Any) -> bool:
        """Whether a text, or one of the texts in JSON values, holds one of the addresses."""
        return any(self._addresses.search(text) for each in values for text in _in(each))

    def are_named_on(self, page: str) -> bool:
        """Whether a page (HTML) holds one of the names that are sought within texts."""
        return bool(self._names_on_page.search(page))

    def out_of(self, value: Any, *, instead: str) -> Any:
        """A text, or JSON values, with ``instead`` for each name and nothing for each address."""
        if isinstance(value, dict):
            return {
                self.out_of(name, instead=instead): self.out_of(each, instead=instead)
                for name, each in value.items()
            }
        if isinstance(value, list):
            return [self.out_of(each, instead=instead) for each in value]
        if not isinstance(value, str):
            return value
        if value in self.names:
            return instead
        return self._addresses.sub("", self._names.sub(instead, value))

    def address_out_of(self, key: str, *, instead: str) -> str:
        """A key with ``instead`` for an address of theirs."""
        return self._addresses.sub(lambda _found: instead, key)

    def out_of_page(self, page: str, *, instead: str) -> str:
        """A page (HTML) with ``instead`` for each name, for one of a single word where it stands
        alone in an element, and nothing for each address."""
        alone = self._alone_on_page.sub(instead, page)
        return self._addresses_on_page.sub("", self._names_on_page.sub(instead, alone))

    @cached_property
    def _names(self) -> re.Pattern[str]:
        return _any_of(self.names_within, _NAME)

    @cached_property
    def _addresses(self) -> re.Pattern[str]:
        return _any_of(self.addresses, _ADDRESS)

    @cached_property
    def _names_on_page(self) -> re.Pattern[str]:
        return _any_of(_escaped(self.names_within), _NAME)

    @cached_property
    def _addresses_on_page(self) -> re.Pattern[str]:
        return _any_of(_escaped(self.addresses), _ADDRESS)

    @cached_property
    def _alone_on_page(self) -> re.Pattern[str]:
        return _any_of(_escaped(self.names), r"(?<=>)\s*{}\s*(?=<)")


def forms_in_json(words: Collection[str]) -> frozenset[str]:
    """How words stand in stored JSON: SQLite keeps it in ASCII, PostgreSQL as it is read."""
    read = {json.dumps(word, ensure_ascii=False)[1:-1] for word in words}
    return frozenset({*read, *(json.dumps(word)[1:-1] for word in words)})


def _in(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _in(each)
    elif isinstance(value, list):
        for each in value:
            yield from _in(each)


def _any_of(words: Collection[str], bounds: str) -> re.Pattern[str]:
    """Any of ``words`` within its bounds, the longest first; of none, nothing."""
    longest_first = sorted(words, key=lambda word: (-len(word), word))
    any_of_them = "|".join(map(re.escape, longest_first)) or "(?!)"
    return re.compile(bounds.format(f"(?:{any_of_them})"))


def _escaped(words: Collection[str]) -> frozenset[str]:
    return frozenset(map(escape, words))
