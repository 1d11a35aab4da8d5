"""The owner's letter of a visit, as the paper room writes it."""

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path

from lostgallon.paper.figures import typed
from lostgallon.shop.account import Correction
from lostgallon.shop.hand_back import Done, HandBack, LeftUndone, Photo, Shares
from lostgallon.shop.trouble import BadInput
from lostgallon.web.sheet import Sheet


def letter_of(sheet: Sheet, photo_path: Callable[[str], Path]) -> bytes:
    """The letter as PDF.

    Args:
        sheet: The visit.
        photo_path: Where a kept photo lies, by its SHA-256.

    Raises:
        BadInput: If there is no account yet.
    """
    from lostgallon.paper.letter import letter_pdf  # noqa: PLC0415 - typesetting loads slowly and few pages need it

    if sheet.account is None or sheet.case is None:
        raise BadInput("", found="no account yet", expected="a visit with its figures")
    return letter_pdf(sheet.account, sheet.case, hand_back=hand_back_record(sheet, photo_path))


def hand_back_record(sheet: Sheet, photo_path: Callable[[str], Path]) -> HandBack:
    """What the shop adds to the account: what was done and agreed, what was left and why."""
    corrections = {row.operation: row for row in sheet.account.corrections} if sheet.account else {}
    done = [_done(sheet, operation, corrections) for operation, found in sheet.group("done") if found.value]
    left = [
        LeftUndone(what=corrections[operation].name, why=str(found.value.get("reason", "")))
        for operation, found in sheet.group("left")
        if operation in corrections
    ]
    left += [
        LeftUndone(what=corrections[operation].name, why="declined by the owner")
        for operation, found in sheet.group("consent")
        if found.value.get("answer") == "no" and operation in corrections
    ]
    return HandBack(
        visit_number=sheet.id[:6],
        vehicle=sheet.vehicle,
        owner_said=sheet.words,
        done=tuple(done),
        left=tuple(left),
        photos=tuple(_photos(sheet, photo_path)),
        shares=Shares(own_words=bool(sheet.words), photos=sheet.value("release.photos") == "done"),
    )


def _photos(sheet: Sheet, photo_path: Callable[[str], Path]) -> Iterator[Photo]:
    names = {row.check: row.name for row in sheet.account.findings} if sheet.account else {}
    for _, found in sheet.group("photo"):
        check = str(found.value.get("check", ""))
        yield Photo(photo_path(str(found.value["sha256"])), names.get(check, check.replace("_", " ")))


def _done(sheet: Sheet, operation: str, corrections: Mapping[str, Correction]) -> Done:
    consent = sheet.value(f"consent.{operation}") or {}
    asked = sheet.standing.get(f"consent.{operation}")
    row = corrections.get(operation)
    name = row.name if row else operation.replace("_", " ")
    charge = row.total_money if row else None
    agreed = ""
    if asked is not None:
        agreed = f"{consent.get('how', '')}, {asked.at:%Y-%m-%d %H:%M}, {consent.get('name', '')}"
    figures = [
        f"{found.value['figure']} ({found.value['source']})"
        for key, found in sheet.group("fill_in")
        if key.startswith(f"{operation}.")
    ]
    return Done(what=name, brought=typed("; ".join(figures)), charge_money=charge, agreed=agreed, operation=operation)
