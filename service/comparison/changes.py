"""One thing that is another one now, and everything that changed between two answers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from fatcore.figures import DIGITS, Form, beside_limits, rounded_down

from ..base.text import GRAVITY, number
from .tolerance import same, shown

GONE, NEW = "none", "none"


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One input, rule or result, before and now as texts.

    pointer : JSON pointer, or the name of a rule as a baseline keeps it; words: the same for a reader
    looser  : the check judges more leniently by it, all else the same
    """

    pointer: str
    words: str
    before: str
    now: str
    unit: str = ""
    looser: bool = False

    @property
    def text(self) -> str:
        """The change in one line."""
        unit = f" {self.unit}" if self.unit else ""
        return f"{self.words} {self.before} -> {self.now}{unit}" + (" (judges more leniently)" if self.looser else "")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineState:
    """What an answer says of one weld line at its governing station.

    life_cycles : None when infinite; lives and findings are None in whole where nothing is known of them
    findings    : severity and code of each
    """

    verdict: str
    utilisation: float
    curve: str
    place: str
    life_cycles: float | None = None
    findings: frozenset[str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LineChange:
    """One weld line before and now; None where it is not there."""

    name: str
    before: LineState | None
    now: LineState | None

    @property
    def gravity(self) -> tuple[int, float]:
        """Those that are gone first, then failing, undecided, passing ones; of these the most used."""
        return (-1, 0.0) if self.now is None else (GRAVITY.index(self.now.verdict), -self.now.utilisation)

    @property
    def status(self) -> str:
        """Whether the line is new, gone, changed or the same."""
        if self.before is None or self.now is None:
            return "new" if self.before is None else "gone"
        return "changed" if any(self.texts) else "same"

    @property
    def texts(self) -> list[str]:
        """What became of the line, each in a few words."""
        if self.before is None or self.now is None:
            return [f"the line is {'new' if self.before is None else 'gone'}"]
        return [*self._moved(verdict=self.verdict, utilisation=self.utilisation), *self.beside]

    @property
    def beside(self) -> list[str]:
        """What became of it besides verdict and utilisation."""
        return [*self._moved(life=self.life), *self.others]

    @property
    def others(self) -> list[str]:
        """What became of it besides verdict, utilisation and life."""
        if self.before is None or self.now is None:
            return []
        moved = self._moved(governing=self.place, curve=self.curve)
        moved += [f"finding came: {text}" for text in self.came]
        return moved + [f"finding went: {text}" for text in self.went]

    @staticmethod
    def _moved(**pairs: tuple[str, str]) -> list[str]:
        units = {"life": " cycles"}
        return [
            f"{name} {' -> '.join(pair)}{units.get(name, '')}" for name, pair in pairs.items() if pair[0] != pair[1]
        ]

    @property
    def verdict(self) -> tuple[str, str]:
        """Before and now."""
        return self._pair("verdict")

    @property
    def curve(self) -> tuple[str, str]:
        """Before and now."""
        return self._pair("curve")

    @property
    def place(self) -> tuple[str, str]:
        """Governing station before and now."""
        return self._pair("place")

    def _pair(self, name: str) -> tuple[str, str]:
        before, now = (GONE if state is None else str(getattr(state, name)) for state in (self.before, self.now))
        return before, now

    @property
    def utilisation(self) -> tuple[str, str]:
        """Before and now, the same text where they differ by no more than another processor makes."""
        before, now = (None if state is None else state.utilisation for state in (self.before, self.now))
        return two_utilisations(before, now)

    @property
    def growth_pct(self) -> float | None:
        """Of the utilisation; None where there is nothing to compare."""
        if self.before is None or self.now is None or not self.before.utilisation:
            return None
        return 100.0 * (self.now.utilisation / self.before.utilisation - 1.0)

    @property
    def life(self) -> tuple[str, str]:
        """Cycles before and now; dashes where an older file does not hold them."""
        if any(state is not None and state.findings is None for state in (self.before, self.now)):
            return "-", "-"
        if self.before is None or self.now is None:
            texts = [GONE if state is None else rounded_down(state.life_cycles) for state in (self.before, self.now)]
            return texts[0], texts[1]
        return two_lives(self.before.life_cycles, self.now.life_cycles)

    @property
    def came(self) -> list[str]:
        """Findings that are new, of a line that was there."""
        return self._new(self.before, self.now)

    @property
    def went(self) -> list[str]:
        """Findings that are gone, of a line that is still there."""
        return self._new(self.now, self.before)

    @staticmethod
    def _new(old: LineState | None, new: LineState | None) -> list[str]:
        if old is None or new is None or old.findings is None or new.findings is None:
            return []
        return sorted(new.findings - old.findings)


def two_numbers(
    before: float | None, now: float | None, absent: str = "none", form: Form = number, old_form: Form | None = None
) -> tuple[str, str]:
    """Two numbers as texts that differ where they do by more than another processor makes.

    form : of both, or of the later one where the older has a form of its own

    >>> two_numbers(0.5, 0.5 * (1 + 1e-9)), two_numbers(0.5, 0.6), two_numbers(2e6, None, "infinite")
    (('0.5', '0.5'), ('0.5', '0.6'), ('2,000,000', 'infinite'))
    """
    if before is not None and now is not None and same(now, before):
        return form(now, DIGITS), form(now, DIGITS)
    return shown(before, now, absent, form, old_form)


def two_lives(before: float | None, now: float | None, absent: str = "infinite") -> tuple[str, str]:
    """The same of lives, none of which reads longer than it is; none is infinite.

    >>> two_lives(7246800.4, 7246800.4), two_lives(7246800.4, 7249100.4), two_lives(2e6, None)
    (('7,240,000', '7,240,000'), ('7,246,000', '7,249,000'), ('2,000,000', 'infinite'))
    """
    return two_numbers(before, now, absent, rounded_down)


def two_utilisations(before: float | None, now: float | None, limit: float = 1.0) -> tuple[str, str]:
    """The same of utilisations, each with as many digits as show on which side of 1 and of a limit it stands.

    >>> two_utilisations(0.9, 0.9996), two_utilisations(None, 1.00004), two_utilisations(0.8004, 0.85, 0.8)
    (('0.9', '0.9996'), ('none', '1.00004'), ('0.8004', '0.85'))
    """
    return two_numbers(before, now, GONE, lambda value, digits: beside_limits(value, 1.0, limit, digits=digits))


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One of the two answers: where it is from, its digest, and what calculated it."""

    name: str
    input_digest: str
    calculated_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Everything that changed between two answers of one calculation.

    inputs  : None where the older one does not hold its request
    results : of the answer as a whole, None where the older one does not hold them
    came, went : findings of the answer as a whole
    remarks : what could not be compared, or is to be known
    """

    before: Revision
    now: Revision
    inputs: tuple[Change, ...] | None = None
    rules: tuple[Change, ...] = ()
    results: tuple[Change, ...] | None = None
    lines: tuple[LineChange, ...] = ()
    came: tuple[str, ...] = ()
    went: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def looser(self) -> list[str]:
        """What judges more leniently, in words."""
        return [change.words for change in (*(self.inputs or ()), *self.rules, *(self.results or ())) if change.looser]

    @property
    def texts(self) -> Iterator[tuple[str | None, str]]:
        """Line and what changed of it, line None for the answer as a whole."""
        for change in (*(self.inputs or ()), *self.rules, *(self.results or ())):
            yield None, change.text
        yield from ((None, f"finding {word}: {text}") for word, texts in _pairs(self) for text in texts)
        yield from ((line.name, text) for line in self.lines for text in line.texts)


def _pairs(found: Comparison) -> Sequence[tuple[str, Sequence[str]]]:
    return (("came", found.came), ("went", found.went))
