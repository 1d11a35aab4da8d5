"""The gauges of the shop: how far each reads off a reference, told once and copied into every visit that uses it.

A visit keeps its own copy, so that what was taken off a reading stays what it was when the gauge is compared anew.
"""

from collections.abc import Mapping
from typing import Any

from lostgallon.shop.gauges import with_gauges
from lostgallon.shop.trouble import BadCase, suggestion
from lostgallon.shop.visit import Gauge
from lostgallon.store import Entry, Store, check_value, read_value, standing

SETTING = "shop.gauges"
"""The setting that holds the shop's gauges: tables as under `[[gauge]]` of a case file."""

Told = Mapping[str, Any]


def gauges_of(store: Store, visit_id: str | None = None) -> dict[str, Told]:
    """The gauges by name: the shop's as they are told now, over them a visit's own as they stand there."""
    found: dict[str, Told] = {told["name"]: told for told in store.setting(SETTING, [])}
    if visit_id is not None:
        found |= {entry.value["name"]: entry.value for entry in _standing(store, visit_id).values()}
    return found


def keep_gauge(store: Store, told: Told, *, who: str) -> None:
    """Keep a gauge of the shop, in place of one of the same name; visits that used it keep what they have.

    Raises:
        BadInput: If a key is missing or can't be used.
    """
    check_value("gauge.1", dict(told))
    others = {name: each for name, each in gauges_of(store).items() if name != told["name"]}
    store.set(SETTING, [*others.values(), dict(told)], who=who)


def forget_gauge(store: Store, name: str, *, who: str) -> None:
    """Take a gauge off the shop's list; visits that used it keep what they have."""
    store.set(SETTING, [told for known, told in gauges_of(store).items() if known != name], who=who)


def with_its_gauge(store: Store, visit_id: str, finding: Told, *, who: str, mark: str) -> Entry | None:
    """Copy the gauge that a finding names into its visit, where it is not there yet.

    Raises:
        BadInput: If nobody knows the gauge, or it reads something else than the finding's values.
    """
    name = finding.get("gauge")
    if not name:
        return None
    known = gauges_of(store, visit_id)
    if name not in known:
        expected = "the name of a gauge of this shop"
        raise BadCase("gauge", found=f"{name!r}{suggestion(name, known)}", expected=expected)
    with_gauges([read_value("finding.1", dict(finding))], [Gauge(**read_value("gauge.1", dict(known[name])))])
    if any(entry.value["name"] == name for entry in _standing(store, visit_id).values()):
        return None
    return store.add(visit_id, "gauge", dict(known[name]), who=who, idempotency_key=f"{mark}-gauge")


def _standing(store: Store, visit_id: str) -> dict[str, Entry]:
    return {key: entry for key, entry in standing(store.history(visit_id)).items() if key.startswith("gauge.")}
