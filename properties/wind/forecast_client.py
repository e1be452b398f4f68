"""Fetch gridpoint forecasts from the US government's open weather service.

Two steps: a place's grid cell (which changes rarely: keep it), then the cell's forecast, asked
for only if it changed since the last time. Addresses are always built from the configured base
and the checked cell, never taken from an answer.
"""

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from email.utils import parsedate_to_datetime
from types import TracebackType
from typing import NamedTuple, Self
from urllib.parse import urlsplit

import httpx
import stamina

from properties.wind.gridpoint_document import (
    MAX_DOCUMENT_BYTES,
    GridCell,
    UnreadableForecast,
    problem_text,
    read_grid_cell,
    read_json_object,
)

DEFAULT_BASE_URL = "https://api.weather.gov"

_MOST_REDIRECTS = 3
_LONGEST_PROBLEM_TEXT = 300


class ForecastServiceMisconfigured(ValueError):
    """The service cannot be called with these settings."""


class ForecastRefused(Exception):
    """The service answered, and asking again will not change the answer."""

    def __init__(self, detail: str, *, status: int | None = None) -> None:
        super().__init__(detail)
        self.detail = detail
        self.status = status


class PlaceNotCovered(ForecastRefused):
    """The service has no forecast for the place: it covers the United States only."""


class ForecastUnavailable(Exception):
    """No usable answer this time; later may be better, in ``retry_after_s`` where it said so."""

    def __init__(
        self, detail: str, *, status: int | None = None, retry_after_s: float | None = None
    ) -> None:
        super().__init__(detail)
        self.detail = detail
        self.status = status
        self.retry_after_s = retry_after_s


@dataclass(frozen=True, kw_only=True)
class ForecastService:
    """Where and how to ask. Times and sizes are common practice, no source.

    ``user_agent`` must name the application and a contact, as the service requires.
    ``timeout_s`` bounds each wait for the network, ``answer_within_s`` one whole answer,
    ``longest_wait_s`` a pause before another of ``attempts``: where the service asks for a
    longer one, the caller is told instead of kept waiting.
    """

    user_agent: str
    base_url: str = DEFAULT_BASE_URL
    timeout_s: float = 10.0
    answer_within_s: float = 30.0
    max_bytes: int = MAX_DOCUMENT_BYTES
    attempts: int = 4
    first_wait_s: float = 1.0
    longest_wait_s: float = 30.0

    def __post_init__(self) -> None:
        if not self.user_agent.strip():
            raise ForecastServiceMisconfigured(
                "the weather service requires a User-Agent that names the application and a "
                "contact; set it before asking for forecasts"
            )
        if not (self.user_agent.isascii() and self.user_agent.isprintable()):
            raise ForecastServiceMisconfigured("the User-Agent must be printable ASCII")
        address = urlsplit(self.base_url)
        if address.scheme not in ("http", "https") or not address.hostname:
            raise ForecastServiceMisconfigured(f"{self.base_url!r} is not a web address")


@dataclass(frozen=True, kw_only=True)
class FetchedForecast:
    """A gridpoint document, or ``None`` where it has not changed since it was last fetched.

    Send ``last_modified`` (the service's own words) with the next request.
    """

    document: bytes | None
    last_modified: str | None

    @property
    def is_unchanged(self) -> bool:
        return self.document is None


class _Answer(NamedTuple):
    status: int
    headers: Mapping[str, str]
    body: bytes


class ForecastClient:
    """A connection to the service; use it as a context manager.

    Every method raises :class:`ForecastRefused` or :class:`ForecastUnavailable`, the latter
    after the configured attempts on time-outs, lost connections, 429 and 5xx.
    ``monotonic`` is the clock that bounds one answer.
    """

    def __init__(
        self, service: ForecastService, *, monotonic: Callable[[], float] = time.monotonic
    ) -> None:
        self._service = service
        self._monotonic = monotonic
        self._http = httpx.Client(
            base_url=service.base_url,
            headers={"User-Agent": service.user_agent, "Accept": "application/geo+json"},
            timeout=service.timeout_s,
            follow_redirects=False,
        )

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        self._http.close()

    def find_cell(self, *, latitude_deg: float, longitude_deg: float) -> GridCell:
        """The grid cell that holds a place (WGS 84).

        Raises :class:`PlaceNotCovered` outside the service's grid, :class:`UnreadableForecast`
        for an answer that is none, ValueError for coordinates off the globe.
        """
        if not (abs(latitude_deg) <= 90 and abs(longitude_deg) <= 180):
            raise ValueError("latitude lies in ±90 and longitude in ±180 degrees")
        place = f"{_coordinate(latitude_deg)},{_coordinate(longitude_deg)}"
        try:
            answer = self._get(f"/points/{place}")
        except ForecastRefused as refused:
            if refused.status == 404:
                raise _not_covered(place, refused.detail) from refused
            raise
        properties = read_json_object(answer.body).get("properties")
        if not isinstance(properties, Mapping):
            raise UnreadableForecast("/properties", "missing, or not an object")
        if properties.get("gridId") is None:
            raise _not_covered(place, "the place has no forecast grid")
        return read_grid_cell(properties)

    def fetch_gridpoint(
        self, cell: GridCell, *, if_modified_since: str | None = None
    ) -> FetchedForecast:
        """The forecast document of a cell, unread: hand it to ``read_gridpoint_forecast``.

        ``if_modified_since`` is the ``last_modified`` of the document already held.
        """
        headers = {"If-Modified-Since": if_modified_since} if if_modified_since else {}
        answer = self._get(f"/gridpoints/{cell.office}/{cell.x},{cell.y}", headers)
        last_modified = answer.headers.get("Last-Modified")
        if answer.status == 304:
            return FetchedForecast(document=None, last_modified=last_modified or if_modified_since)
        return FetchedForecast(document=answer.body, last_modified=last_modified)

    def _get(self, path: str, headers: Mapping[str, str] | None = None) -> _Answer:
        attempts = stamina.retry_context(
            on=self._pause_before_retry,
            attempts=self._service.attempts,
            timeout=None,
            wait_initial=self._service.first_wait_s,
            wait_max=self._service.longest_wait_s,
            wait_jitter=self._service.first_wait_s,
        )
        for attempt in attempts:
            with attempt:
                return self._get_following_redirects(path, headers or {})
        raise AssertionError("the last attempt returns or raises")

    def _pause_before_retry(self, error: Exception) -> bool | float:
        if not isinstance(error, ForecastUnavailable):
            return False
        if error.retry_after_s is None:
            return True
        if error.retry_after_s > self._service.longest_wait_s:
            return False
        return max(error.retry_after_s, self._service.first_wait_s)

    def _get_following_redirects(self, path: str, headers: Mapping[str, str]) -> _Answer:
        for _ in range(1 + _MOST_REDIRECTS):
            answer = self._get_once(path, headers)
            if answer.status not in (301, 302, 307, 308):
                self._check_status(answer, asked_conditionally=bool(headers))
                return answer
            path = self._own_address(path, answer)
        raise ForecastRefused("the service sends the request round in circles")

    def _own_address(self, path: str, answer: _Answer) -> str:
        target = httpx.URL(self._http.base_url).join(answer.headers.get("Location", ""))
        base = self._http.base_url
        if (target.scheme, target.host, target.port) != (base.scheme, base.host, base.port):
            raise ForecastRefused(
                f"the service sends {path} to another host, which is not followed",
                status=answer.status,
            )
        return str(target)

    def _get_once(self, path: str, headers: Mapping[str, str]) -> _Answer:
        try:
            with self._http.stream("GET", path, headers=headers) as response:
                return _Answer(response.status_code, response.headers, self._body(response))
        except httpx.TimeoutException as error:
            raise ForecastUnavailable("the weather service did not answer in time") from error
        except httpx.RequestError as error:
            raise ForecastUnavailable(f"the weather service cannot be reached: {error}") from error

    def _body(self, response: httpx.Response) -> bytes:
        """The whole answer, given up as soon as it is too large or takes too long."""
        deadline = self._monotonic() + self._service.answer_within_s
        body = bytearray()
        for chunk in response.iter_bytes():
            body += chunk
            if len(body) > self._service.max_bytes:
                raise ForecastRefused(
                    f"the answer is larger than {self._service.max_bytes} bytes",
                    status=response.status_code,
                )
            if self._monotonic() > deadline:
                raise ForecastUnavailable("the weather service answers too slowly")
        return bytes(body)

    def _check_status(self, answer: _Answer, *, asked_conditionally: bool) -> None:
        status = answer.status
        if status == 200 or (status == 304 and asked_conditionally):
            return
        detail = f"the weather service answered {status}"
        if problem := _problem(answer.body):
            detail = f"{detail}: {problem}"
        if status in (408, 429) or status >= 500:
            raise ForecastUnavailable(
                detail, status=status, retry_after_s=_retry_after_s(answer.headers)
            )
        if status == 403:
            detail = f"{detail}. Does the User-Agent name the application and a contact?"
        raise ForecastRefused(detail, status=status)


def _not_covered(place: str, detail: str) -> PlaceNotCovered:
    return PlaceNotCovered(
        f"no forecast for {place}: the service covers the United States only ({detail})",
        status=404,
    )


def _coordinate(degrees: float) -> str:
    """At most four decimals, as the service demands, and no trailing noughts."""
    text = f"{degrees:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _problem(body: bytes) -> str | None:
    try:
        text = problem_text(read_json_object(body))
    except UnreadableForecast:
        return None
    return text[:_LONGEST_PROBLEM_TEXT] if text else None


def _retry_after_s(headers: Mapping[str, str]) -> float | None:
    """Seconds to wait. A date is measured from the answer's own ``Date``, not from our clock."""
    text = headers.get("Retry-After", "").strip()
    if text.isascii() and text.isdigit():
        seconds = float(text)
        return seconds if math.isfinite(seconds) else None
    try:
        until = parsedate_to_datetime(text)
        return max(0.0, (until - parsedate_to_datetime(headers["Date"])).total_seconds())
    except (KeyError, TypeError, ValueError):
        return None
