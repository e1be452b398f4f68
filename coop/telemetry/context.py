"""Who and what a log line is about: the request, the job, the actor at work."""

from contextvars import ContextVar

request_id: ContextVar[str] = ContextVar("request_id", default="")
job_id: ContextVar[str] = ContextVar("job_id", default="")
actor: ContextVar[str] = ContextVar("actor", default="")
