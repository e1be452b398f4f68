"""The figures by which deliveries are tried, timed and kept."""

import random
from dataclasses import dataclass, field
from datetime import timedelta


@dataclass(frozen=True, kw_only=True)
class WebhookPractice:
    """Waits are the example schedule of Standard Webhooks 1.0.0; the rest is common practice,
    no source, inside the bounds that the specification names (15 to 30 s for an answer).

    ``waits_s`` stands after each failed attempt, in seconds; when it is used up the delivery is
    dead. ``jitter`` is the share by which a wait is shortened or lengthened. ``step_within_s``
    bounds each wait for the network, ``answer_within_s`` one whole attempt, ``pass_within_s``
    how long one pass goes on taking deliveries up. A receiver that took nothing for
    ``disable_after`` is disabled. After a rotation both secrets sign for ``secret_overlap``.
    Finished deliveries are kept for ``log_kept``.
    """

    waits_s: tuple[float, ...] = field(
        default=(5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400)
    )
    jitter: float = 0.2
    step_within_s: float = 10.0
    answer_within_s: float = 20.0
    pass_within_s: float = 30.0
    longest_wait_s: float = 86_400.0
    disable_after: timedelta = timedelta(days=3)
    secret_overlap: timedelta = timedelta(hours=24)
    log_kept: timedelta = timedelta(days=30)
    endpoints_each: int = 10

    def wait_after(self, failures: int, *, asked_s: float | None = None) -> timedelta | None:
        """How long to wait after so many failed attempts; None when it was the last.

        ``asked_s`` is what the receiver asked for (``Retry-After``): never sooner than that,
        as long as it is no longer than the longest wait.
        """
        if failures > len(self.waits_s):
            return None
        planned_s = self.waits_s[failures - 1] * random.uniform(1 - self.jitter, 1 + self.jitter)
        return timedelta(seconds=max(planned_s, min(asked_s or 0.0, self.longest_wait_s)))


PRACTICE = WebhookPractice()
