"""The papers of a visit for its owner, as the paper room writes them."""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Literal

from lostgallon.paper.figures import typed
from lostgallon.shop.account import Correction
from lostgallon.shop.hand_back import Done, HandBack, LeftUndone, Photo, Shares
from lostgallon.shop.trouble import BadInput
from lostgallon.shop.visit import Case
from lostgallon.web.sheet import Sheet
from lostgallon.web.words import LANGUAGES

PaperName = Literal["letter", "estimate", "fill-card"]


def paper_of(sheet: Sheet, name: PaperName, photo_path: Callable[[str], Path]) -> bytes:
    """A paper for the owner as PDF, in the owner's language.

    Args:
        sheet: The visit.
        name: Which paper.
        photo_path: Where a kept photo lies, by its SHA-256.

    Raises:
        BadInput: If there is no account yet.
    """
    from lostgallon.paper.estimate import estimate_pdf  # noqa: PLC0415 - typesetting loads slowly, few pages need it
    from lostgallon.paper.fill_card import fill_card_pdf  # noqa: PLC0415 - the same
    from lostgallon.paper.letter import letter_pdf  # noqa: PLC0415 - the same

    if sheet.account is None or sheet.case is None:
        raise BadInput("", found="no account yet", expected="a visit with its figures")
    write = {"letter": letter_pdf, "estimate": estimate_pdf, "fill-card": fill_card_pdf}[name]
    return write(sheet.account, _for_owner(sheet, sheet.case), hand_back=hand_back_record(sheet, photo_path))


def _for_owner(sheet: Sheet, case: Case) -> Case:
    language = sheet.owner_language if sheet.owner_language in LANGUAGES else case.shop.language
    return replace(case, shop=replace(case.shop, language=language))


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
        letterhead=sheet.letterhead,
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
