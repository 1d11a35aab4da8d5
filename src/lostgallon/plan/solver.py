"""A small hand on OR-Tools CP-SAT: whole numbers, yes/no choices, intervals, maximize.

The model is written in the solver's own documented text format (cp_model.proto) and handed to its compiled part.
The usual Python layer of OR-Tools imports pandas, which alone costs more than a whole plan (docs/decisions/004).
Imported by nobody at start-up: `solve` loads the solver.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

Variable = int
Terms = Mapping[Variable, int]
SEED = 20111
UNLIMITED = 2**40
LONGEST = 100_000


@dataclass(frozen=True)
class Interval:
    """A stretch of time in the model: the index of its constraint and what decides whether it is there."""

    index: int
    present: Variable | None


@dataclass(frozen=True)
class Answer:
    """What the solver found: one number per variable, and the bound that no plan can exceed.

    `effort` is deterministic work, the same on every machine; `wall_s` is not.
    """

    values: tuple[int, ...]
    objective: float
    bound: float
    proven: bool
    wall_s: float
    effort: float

    @property
    def gap(self) -> float:
        """How far the bound lies above the answer, as a share of the answer (0 when proven)."""
        return 0.0 if self.proven else abs(self.bound - self.objective) / max(abs(self.objective), 1.0)


@dataclass
class Model:
    """A model under construction. Times and amounts are whole numbers; the caller chooses the unit."""

    _variables: list[str] = field(default_factory=list)
    _constraints: list[str] = field(default_factory=list)
    _objective: dict[Variable, int] = field(default_factory=dict)

    def integer(self, low: int, high: int) -> Variable:
        """A new whole number between low and high, both included."""
        self._variables.append(f"variables{{domain:{low} domain:{high}}}")
        return len(self._variables) - 1

    def choice(self) -> Variable:
        """A new yes (1) or no (0)."""
        return self.integer(0, 1)

    def between(
        self, terms: Terms, *, low: int = -UNLIMITED, high: int = UNLIMITED, only_if: Iterable[Variable] = ()
    ) -> None:
        """Low <= sum of coefficient x variable <= high, where every variable of `only_if` is yes."""
        linear = "".join(f"vars:{variable} " for variable in terms)
        linear += "".join(f"coeffs:{coefficient} " for coefficient in terms.values())
        self._add(f"linear{{{linear}domain:{low} domain:{high}}}", only_if)

    def interval(
        self, start: Variable, *, size: int | None, end: Variable | None = None, present: Variable | None = None
    ) -> Interval:
        """A stretch from start, of a fixed size or to a variable end, optionally present."""
        first = f"start{{vars:{start} coeffs:1}}"
        if end is None:
            rest = f"size{{offset:{size}}} end{{vars:{start} coeffs:1 offset:{size}}}"
        else:
            length = self.integer(0, LONGEST)
            rest = f"size{{vars:{length} coeffs:1}} end{{vars:{end} coeffs:1}}"
        self._add(f"interval{{{first} {rest}}}", () if present is None else (present,))
        return Interval(index=len(self._constraints) - 1, present=present)

    def apart(self, intervals: Iterable[Interval]) -> None:
        """No two of these stretches overlap."""
        indices = "".join(f"intervals:{interval.index} " for interval in intervals)
        self._add(f"no_overlap{{{indices}}}", ())

    def at_most(self, capacity: int, loads: Iterable[tuple[Interval, int]]) -> None:
        """At every moment the loads of the stretches that cover it sum to no more than the capacity."""
        pairs = list(loads)
        indices = "".join(f"intervals:{interval.index} " for interval, _ in pairs)
        demands = "".join(f"demands{{offset:{load}}} " for _, load in pairs)
        self._add(f"cumulative{{capacity{{offset:{capacity}}} {indices}{demands}}}", ())

    def maximize(self, terms: Terms) -> None:
        """Add these terms to what is maximized."""
        for variable, coefficient in terms.items():
            self._objective[variable] = self._objective.get(variable, 0) + coefficient

    def _add(self, body: str, only_if: Iterable[Variable]) -> None:
        literals = "".join(f"enforcement_literal:{variable} " for variable in only_if)
        self._constraints.append(f"constraints{{{literals}{body}}}")

    def _text(self, hint: Terms) -> str:
        objective = "".join(f"vars:{variable} " for variable in self._objective)
        # The solver minimizes.
        objective += "".join(f"coeffs:{-coefficient} " for coefficient in self._objective.values())
        parts = [*self._variables, *self._constraints, f"objective{{{objective}}}"]
        if hint:
            pairs = "".join(f"vars:{variable} values:{value} " for variable, value in hint.items())
            parts.append(f"solution_hint{{{pairs}}}")
        return "\n".join(parts)

    def solve(self, *, effort: float, hint: Terms | None = None, first_only: bool = False) -> Answer | None:
        """The best answer within a deterministic effort, or None where nothing fits.

        Args:
            effort: Deterministic work allowed (about a second each on a plain core); same answer on every machine.
            hint: Values to start from, by variable, for example those of an earlier answer.
            first_only: Stop at the first usable answer.
        """
        from ortools.sat.python import (  # noqa: PLC0415 - loads the solver; see the head of the module
            cp_model_helper as cp_sat,
        )

        model = cp_sat.CpModelProto()
        if not model.parse_text_format(self._text(hint or {})):
            msg = "the plan's model is not in the solver's format"
            raise ValueError(msg)
        parameters = cp_sat.SatParameters()
        parameters.num_workers = 1
        parameters.random_seed = SEED
        parameters.max_deterministic_time = effort
        parameters.relative_gap_limit = 0.0
        parameters.stop_after_first_solution = first_only
        wrapper = cp_sat.SolveWrapper()
        wrapper.set_parameters(parameters)
        response = wrapper.solve(model)  # type: ignore[no-untyped-call]
        if response.status == cp_sat.CpSolverStatus.MODEL_INVALID:
            raise ValueError(cp_sat.CpSatHelper.validate_model(model))
        if response.status not in {cp_sat.CpSolverStatus.OPTIMAL, cp_sat.CpSolverStatus.FEASIBLE}:
            return None
        return Answer(
            values=tuple(response.solution),
            objective=-response.objective_value,
            bound=-response.best_objective_bound,
            proven=response.status == cp_sat.CpSolverStatus.OPTIMAL,
            wall_s=response.wall_time,
            effort=response.deterministic_time,
        )
