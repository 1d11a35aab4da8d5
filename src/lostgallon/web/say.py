"""How a figure is said to one person: their units first, sentence before number, no more digits than it supports."""

import datetime as dt
from dataclasses import dataclass

from lostgallon.paper.figures import GAL, GAL_PER_100MI, MI, Figure, figure, mpg_figure, plain, rounded, typed
from lostgallon.paper.sayings import duration, money, sentence_case
from lostgallon.paper.words import Words
from lostgallon.shop.spread import Spread
from lostgallon.shop.units import PA_PER_PSI, fahrenheit_of
from lostgallon.web.person import Person

_FINEST_GAL, _FINEST_L = 0.01, 0.05


@dataclass(frozen=True)
class Say:
    """The words of a language and the units of a person."""

    words: Words
    person: Person

    def __call__(self, key: str, /, **values: object) -> str:
        """The sentence of a key."""
        return self.words(key, **values)

    @property
    def us(self) -> bool:
        """Whether this person reads gallons and miles first."""
        return self.person.units == "us"

    def per_distance(self, fuel: Spread) -> Figure:
        """A fuel use in this person's unit of fuel per distance."""
        return self._per_distance(fuel, us=self.us)

    def per_distance_other(self, fuel: Spread) -> Figure:
        """The same in the other unit."""
        return self._per_distance(fuel, us=not self.us)

    def _per_distance(self, fuel: Spread, *, us: bool) -> Figure:
        if us:
            return figure(fuel, factor=GAL_PER_100MI, smallest=_FINEST_GAL)
        return figure(fuel, smallest=_FINEST_L)

    @property
    def unit(self) -> str:
        """This person's fuel per distance, short."""
        return self("unit.gal" if self.us else "unit.l")

    @property
    def other_unit(self) -> str:
        """The other one, short."""
        return self("unit.l" if self.us else "unit.gal")

    def about(self, fuel: Spread) -> str:
        """`about 0.35 gal, likely 0.25 to 0.5`."""
        size = self.per_distance(fuel)
        if size.sharp:
            return self("say.about", middle=size.middle, unit=self.unit)
        return self("say.about_likely", middle=size.middle, low=size.low, high=size.high, unit=self.unit)

    def economy(self, fuel: Spread) -> str:
        """Miles per gallon or liters per 100 km, as the person's fuel display would say it."""
        if self.us:
            return self("say.mpg", middle=mpg_figure(fuel).middle)
        return self("say.l100", middle=figure(fuel, smallest=0.1).middle)

    def distance(self, km: float) -> str:
        """A distance in miles or kilometers."""
        if self.us:
            return f"{rounded(km * MI, 1000.0 if km > 20_000 else 1.0)} mi"
        return f"{rounded(km, 1000.0 if km > 20_000 else 1.0)} km"

    def fuel(self, liters: Spread) -> str:
        """A volume of fuel with its interval."""
        size = figure(liters, factor=GAL if self.us else 1.0, smallest=1.0)
        unit = "gal" if self.us else "L"
        if size.sharp:
            return f"{size.middle} {unit}"
        return self("say.size_likely", middle=size.middle, low=size.low, high=size.high, unit=unit)

    def temperature(self, celsius: float) -> str:
        """A temperature, this person's unit first."""
        # A figure and its degree stay on one line.
        fahrenheit = f"{rounded(fahrenheit_of(celsius), 1.0)}\N{NO-BREAK SPACE}°F"
        plain_c = f"{rounded(celsius, 1.0)}\N{NO-BREAK SPACE}°C"
        return f"{fahrenheit} ({plain_c})" if self.us else f"{plain_c} ({fahrenheit})"

    def pressure(self, pascals: float) -> str:
        """A tire pressure."""
        psi, bar = f"{rounded(pascals / PA_PER_PSI, 0.5)} psi", f"{rounded(pascals / 1e5, 0.01)} bar"
        return f"{psi} ({bar})" if self.us else f"{bar} ({psi})"

    def money(self, amount: float, currency: str) -> str:
        """A price in whole units."""
        return money(amount, currency)

    def minutes(self, minutes: float) -> str:
        """Minutes, above two hours as hours and minutes."""
        count = round(minutes)
        if count < 120:
            return self("say.minutes", count=count)
        return self("say.hours", hours=count // 60, minutes=f"{count % 60:02d}")

    def months(self, months: Spread) -> str:
        """A time to pay back with its ends."""
        return duration(months, self.words)

    def clock(self, moment: dt.datetime) -> str:
        """A time of day."""
        return self.words.clock(moment)

    def day(self, day: dt.date) -> str:
        """A date in words."""
        return self.words.day(day)

    def when(self, moment: dt.datetime, now: dt.datetime) -> str:
        """A time of day today, with the date on any other day."""
        if moment.date() == now.date():
            return self.clock(moment)
        return self("say.day_clock", day=self.day(moment.date()), clock=self.clock(moment))

    def ago(self, moment: dt.datetime, now: dt.datetime) -> str:
        """`14 min ago`, `3 h ago`, `2 days ago`."""
        minutes = max(0, round((now - moment).total_seconds() / 60.0))
        if minutes < 90:
            return self("say.minutes_ago", count=minutes)
        if minutes < 36 * 60:
            return self("say.hours_ago", count=round(minutes / 60))
        return self("say.days_ago", count=round(minutes / 1440))

    def typed(self, text: str) -> str:
        """A quantity as typed, with degree signs."""
        return typed(text)

    def number(self, value: float) -> str:
        """A number to two digits."""
        return plain(value)

    def sentence(self, text: str) -> str:
        """A phrase of a record as a sentence in this language: capital at the start, point at the end."""
        said = sentence_case(typed(self.words.told(text)).strip())
        return said if not said or said[-1] in ".!?" else f"{said}."

    def told(self, text: str) -> str:
        """A sentence that another room made, in this language where its table has it."""
        return typed(self.words.told(text))

    def caution(self, text: str) -> str:
        """A caution in this language, marked while its translation is not reviewed."""
        return self.words.caution(text)

    def chance(self, probability: float) -> str:
        """How likely it is, in words a person uses: `9 in 10`, `1 in 15`, `as good as sure`."""
        if probability >= 0.95:
            return self("chance_there.sure")
        if probability >= 0.85:
            return self("chance_there.of", few=9, many=10)
        if probability >= 0.15:
            return self("chance_there.of", few=max(2, round(probability * 10)), many=10)
        if probability > 0.005:
            return self("chance_there.of", few=1, many=round(1.0 / probability))
        return self("chance_there.hardly")
