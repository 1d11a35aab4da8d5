"""The owner's letter: one page, and an annex for what does not fit on it."""

from base64 import b64encode
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from lostgallon.paper.bridge import Bridge, Step, lay_bridge
from lostgallon.paper.bridge_svg import bridge_svg, picture_says
from lostgallon.paper.drive_svg import drive_pictures
from lostgallon.paper.figures import rounded
from lostgallon.paper.letter_lines import Section
from lostgallon.paper.letter_parts import about, cautions, sections, stop_said, with_work_done
from lostgallon.paper.sayings import ended, plain_sentence
from lostgallon.paper.steps_svg import largest, steps_svg
from lostgallon.paper.svg import Frame, tag
from lostgallon.paper.told_record import told_record
from lostgallon.paper.typeset import MARGIN_PT, PAPERS, WIDTHS_PT, Page, pdf_of, write_pdf
from lostgallon.paper.words import Words, words_of
from lostgallon.shop.account import Account
from lostgallon.shop.hand_back import HandBack, Photo
from lostgallon.shop.visit import Case

_PX_PER_PT = 1.0 / 0.62
"""Pictures are drawn so large that their 16 px type prints at 9.9 pt."""

_PICTURES = {b"\xff\xd8\xff": "jpeg", b"\x89PNG": "png"}


@dataclass(frozen=True)
class Fit:
    """How much one page takes: lines a section, causes below the bridge, characters a line; never less of cautions.

    Where the first paragraph is longer than `lede` characters, the owner's own words are left out of it.
    """

    lines: int
    steps: int
    characters: int
    lede: int


@dataclass(frozen=True)
class Told:
    """What the letter tells, in full or shortened."""

    lede: str
    unquoted: str
    parts: tuple[Section, ...]
    cautions: tuple[str, ...]
    bridge: Bridge
    corrected: frozenset[str]


_FITS = (
    Fit(lines=9, steps=8, characters=600, lede=900),
    Fit(lines=8, steps=8, characters=400, lede=900),
    Fit(lines=7, steps=7, characters=400, lede=900),
    Fit(lines=7, steps=7, characters=280, lede=800),
    Fit(lines=6, steps=7, characters=280, lede=800),
    Fit(lines=6, steps=6, characters=240, lede=700),
    Fit(lines=5, steps=6, characters=240, lede=700),
    Fit(lines=5, steps=6, characters=200, lede=700),
    Fit(lines=5, steps=5, characters=200, lede=600),
    Fit(lines=4, steps=5, characters=200, lede=600),
    Fit(lines=4, steps=5, characters=160, lede=600),
    Fit(lines=4, steps=4, characters=140, lede=500),
    Fit(lines=3, steps=4, characters=140, lede=500),
    Fit(lines=2, steps=4, characters=110, lede=500),
    Fit(lines=1, steps=3, characters=80, lede=500),
)
_SMALL_SHARE = 0.03
"""Causes below this share of the loss may stay out of the picture of one page without an annex for them."""


def write_letter(
    account: Account, case: Case, path: Path, *, page: Page = "letter", hand_back: HandBack | None = None
) -> None:
    """Writes the owner's letter as a PDF.

    Args:
        account: The account it tells of.
        case: The visit.
        path: Where the PDF goes.
        page: Letter or A4.
        hand_back: What the shop adds; without it the letter says what can be corrected, not what was done.

    Raises:
        BadFile: If the file can't be written.
    """
    write_pdf(letter_pdf(account, case, page=page, hand_back=hand_back), path)


def letter_pdf(account: Account, case: Case, *, page: Page = "letter", hand_back: HandBack | None = None) -> bytes:
    """The owner's letter as the bytes of a PDF; the same input gives the same bytes."""
    content = letter_content(account, case, page=page, hand_back=hand_back or HandBack())
    return pdf_of("letter", content, day=case.visit.date)


def letter_content(account: Account, case: Case, *, page: Page, hand_back: HandBack) -> dict[str, Any]:
    """Everything the letter prints, as plain data: the fullest form that fits is chosen when it is set."""
    words = words_of(case)
    account = told_record(account, words)
    hand_back = with_work_done(hand_back, account, case)
    frame = Frame(width_px=(WIDTHS_PT[page] - 2.0 * MARGIN_PT) * _PX_PER_PT, deck_px=40.0)
    operations = {done.operation for done in hand_back.done}
    told = Told(
        lede=about(account, case, hand_back, words),
        unquoted=about(account, case, hand_back, words, quoted=False),
        parts=sections(account, case, hand_back, words),
        cautions=cautions(account, words),
        bridge=lay_bridge(account, measure=words.measure),
        corrected=frozenset(row.cause for row in account.corrections if row.operation in operations),
    )
    return {
        "paper": PAPERS[page],
        "margin": MARGIN_PT,
        "lang": words.language,
        "title": title(account, words),
        "from": _letterhead(hand_back, words),
        "day": words.day(case.visit.date),
        "lead": plain_sentence(account, words),
        "stop": list(stop_said(account, words)),
        "bridge": bridge_svg(told.bridge, words, frame=frame),
        "bridge_says": picture_says(told.bridge, words),
        "steps_says": words("picture.steps"),
        "caution": words("letter.caution"),
        "last": f"{words('letter.likely')} {words('legend.add')} {words('letter.deferral')}",
        "fits": [_fitted(told, fit, words, frame=frame) for fit in _FITS],
        "pictured": words("letter.annex_pictures") if account.drive or _shared(hand_back) else "",
        "annex": _annex(told, account, hand_back, words, frame=frame),
    }


def title(account: Account, words: Words) -> str:
    """The heading of the letter: where the fuel went, nothing to repair, or stopped."""
    if account.stop:
        return words("letter.title_stop")
    if not any(row.advice in ("today", "later") for row in account.corrections):
        return words("letter.title_nothing")
    return words("letter.title")


def _letterhead(hand_back: HandBack, words: Words) -> list[str]:
    if hand_back.letterhead is None:
        return [words("letter.blank_from")]
    return [hand_back.letterhead.name, *hand_back.letterhead.lines]


def _fitted(told: Told, fit: Fit, words: Words, *, frame: Frame) -> dict[str, Any]:
    lede = told.lede if len(told.lede) <= fit.lede else told.unquoted
    short = replace(
        told, lede=lede, parts=tuple(part.cut(lines=fit.lines, characters=fit.characters) for part in told.parts)
    )
    drawn = largest(told.bridge, fit.steps)
    whole = short == told and all(
        step in drawn or _small(step, told.bridge) for step in told.bridge.steps if step.shown
    )
    return {
        "lede": short.lede,
        "steps": steps_svg(told.bridge, words, frame=frame, most=fit.steps, corrected=told.corrected),
        "sections": [_section(part) for part in short.parts],
        "cautions": list(short.cautions),
        "smaller": _smaller(told.bridge, drawn, words),
        "more": "" if whole else words("letter.annex_mentioned"),
        "whole": whole,
    }


def _small(step: Step, bridge: Bridge) -> bool:
    return step.entry.l_per_100km.mean < _SMALL_SHARE * (bridge.now.l_per_100km.mean - bridge.then.l_per_100km.mean)


def _smaller(bridge: Bridge, drawn: tuple[Step, ...], words: Words) -> str:
    left = [step.entry.l_per_100km.mean * words.measure.fuel for step in bridge.steps if step not in drawn]
    if not left:
        return ""
    return words("letter.smaller", count=len(left), total=rounded(sum(left), 0.01 if abs(sum(left)) < 0.1 else 0.1))


def _section(part: Section) -> dict[str, Any]:
    return {"head": part.head, "items": [{"bold": item.bold, "text": item.text} for item in part.items]}


def _shared(hand_back: HandBack) -> tuple[Photo, ...]:
    return hand_back.photos if hand_back.shares.photos else ()


def _annex(told: Told, account: Account, hand_back: HandBack, words: Words, *, frame: Frame) -> dict[str, Any]:
    driven = drive_pictures(account.drive, words, frame=frame) if account.drive else ()
    return {
        "title": words("letter.annex"),
        "lede": told.lede,
        "steps": steps_svg(told.bridge, words, frame=frame, most=len(told.bridge.steps), corrected=told.corrected),
        "sections": [_section(part) for part in told.parts],
        "cautions": list(told.cautions),
        "photos_head": words("letter.photos"),
        "photos": list(_photos(_shared(hand_back), words)),
        "drive_head": words("driven.title"),
        "drive": [
            {
                "name": f"{shown.name}:" if shown.says else f"{shown.name}.",
                "says": ended(shown.says),
                "picture": shown.svg,
                "caution": shown.caution,
            }
            for shown in driven
        ],
    }


def _photos(photos: Iterable[Photo], words: Words) -> Iterable[dict[str, str]]:
    for photo in photos:
        try:
            data = photo.file.read_bytes()
        except OSError:
            data = b""
        kind = next((kind for head, kind in _PICTURES.items() if data.startswith(head)), None)
        if kind is None:
            yield {"picture": "", "caption": f"{words.told(photo.caption)} ({words('letter.photo_missing')})"}
            continue
        href = f"data:image/{kind};base64,{b64encode(data).decode('ascii')}"
        image = tag("image", href=href, width=800, height=600)
        yield {
            "picture": tag(
                "svg", image, xmlns="http://www.w3.org/2000/svg", viewBox="0 0 800 600", width=800, height=600
            ),
            "caption": words.told(photo.caption),
        }
