"""A figure of a run, and whether it holds what is promised."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Row:
    """``fault_NAME value unit``; ``goal`` says in words what has to hold, ``holds`` whether it
    does. A figure without a goal is told for its own sake."""

    name: str
    value: float
    unit: str
    goal: str = ""
    holds: bool = True

    @property
    def line(self) -> str:
        goal = f" (goal {self.goal})" if self.goal else ""
        missed = "" if self.holds else " MISSED"
        return f"fault_{self.name} {self.value:.4g} {self.unit}{goal}{missed}"


def exactly(name: str, value: float, unit: str, goal: float) -> Row:
    return Row(name=name, value=value, unit=unit, goal=f"{goal:g}", holds=value == goal)


def at_most(name: str, value: float, unit: str, goal: float) -> Row:
    return Row(name=name, value=value, unit=unit, goal=f"at most {goal:g}", holds=value <= goal)


def at_least(name: str, value: float, unit: str, goal: float) -> Row:
    return Row(name=name, value=value, unit=unit, goal=f"at least {goal:g}", holds=value >= goal)
