"""A copy of the sits that somebody may see, kept as the documentation says."""

from typing import Any
from urllib.parse import urlsplit


class Copy:
    """``rows`` by id; :meth:`follow` asks until there is no more, a few rows at a time."""

    def __init__(self, client: Any, *, page_size: int = 3) -> None:
        self._client = client
        self.rows: dict[str, Any] = {}
        self.gone: list[str] = []
        self._next = f"/api/v1/sits/changes/?page_size={page_size}"

    def follow(self) -> list[str]:
        """Ids that were told anew or as gone."""
        heard: list[str] = []
        while True:
            answer = self.ask()
            assert answer.status_code == 200, answer.json()
            told = answer.json()
            for row in told["results"]:
                self.rows[row["id"]] = row
            for identity in told["gone"]:
                self.rows.pop(identity, None)
                self.gone.append(identity)
            heard += [row["id"] for row in told["results"]] + told["gone"]
            self._next = _path(told["next"])
            if not told["more"]:
                return heard

    def ask(self) -> Any:
        return self._client.get(self._next)


def _path(address: str) -> str:
    parts = urlsplit(address)
    return f"{parts.path}?{parts.query}"


def listed(client: Any) -> dict[str, Any]:
    """What the list itself tells, by id."""
    rows = client.get("/api/v1/sits/", {"page_size": 1000}).json()["results"]
    return {row["id"]: row for row in rows}
