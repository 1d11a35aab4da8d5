"""What a case states outright: season, and a fuel blend or an ethanol share given for both periods."""

from collections.abc import Mapping

import numpy as np

from lostgallon.causes.catalogue import Catalogue
from lostgallon.causes.columns import Effects
from lostgallon.causes.population import Known
from lostgallon.physics.coefficients import value_of
from lostgallon.shop.filled import Rise
from lostgallon.shop.spread import Floats
from lostgallon.shop.visit import Case

BLEND, ETHANOL = "winter_fuel_blend", "ethanol_content"


def require_known_states(case: Case, catalogue: Catalogue) -> None:
    """Refuse a case that names an access state, or work agreed to or done, which does not exist.

    Raises:
        BadInput: With the place in the case and the nearest state.
    """
    for name in case.booked.apart:
        catalogue.state_named(name, where="[booked] apart")
    for number, change in enumerate(case.states, 1):
        for name in (*change.opened, *change.closed):
            catalogue.state_named(name, where=f"[[state]] {number}")
    for number, step in enumerate(case.booked.steps, 1):
        for name in step.needs:
            catalogue.state_named(name, where=f"[booked] steps {number} needs")
    for number, agreed in enumerate(case.agreed, 1):
        catalogue.operation_named(agreed.operation, where=f"[[agreed]] {number} operation")
    for number, done in enumerate(case.work_done, 1):
        catalogue.operation_named(done.operation, where=f"[[work_done]] {number} operation")


def stated_causes(case: Case, catalogue: Catalogue) -> tuple[str, ...]:
    """Causes the case states for both periods, which are therefore no matter of belief."""
    stated = []
    if case.then.fuel_blend is not None and case.now.fuel_blend is not None:
        stated.append(BLEND)
    if case.then.ethanol_share is not None and case.now.ethanol_share is not None:
        stated.append(ETHANOL)
    return tuple(name for name in stated if name in catalogue.cause)


def known_of(case: Case, effects: Effects, catalogue: Catalogue, *, rise: Rise | None = None) -> Known:
    """Season and stated fuel as logs of now over then, shape (members,) each.

    Args:
        case: The case.
        effects: What the physics says of season and blend.
        catalogue: The catalogue.
        rise: The rise by fill-ups. Its season rests on the physics and on this vehicle's own years together, so it
            takes the place of the physics' season.
    """
    number = catalogue.number
    season = effects.season_log if any(cause.context == "season" for cause in catalogue.causes) else None
    if season is None or case.then.ambient_c == case.now.ambient_c:
        season = np.zeros_like(effects.season_log)
    stated = _stated_logs(case, effects)
    names = stated_causes(case, catalogue)
    terms = {name: stated[name] for name in names}
    if rise is None or rise.season_log is None or rise.season_sd is None or not season.any():
        return Known(season_log=season, season_sd=number["season_use_sd"], stated=terms)
    alone = rise.season_log - sum(float(log.mean()) for name, log in terms.items() if name == BLEND)
    spread = float(season.std()) or 1.0
    return Known(season_log=alone + (season - season.mean()) / spread * rise.season_sd, season_sd=0.0, stated=terms)


def _stated_logs(case: Case, effects: Effects) -> Mapping[str, Floats]:
    """The blend's log without its ethanol, and the ethanol's, shape (members,) each."""
    less = value_of("ethanol_energy")
    energy = [1.0 - less * (period.ethanol_share or 0.0) for period in (case.then, case.now)]
    ethanol = float(np.log(energy[0] / energy[1]))
    return {BLEND: effects.blend_log - ethanol, ETHANOL: np.full_like(effects.blend_log, ethanol)}
