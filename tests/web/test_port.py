"""The diagnostic port from the page: a recording that lands in the visit, the memory in one press, what is refused."""

import io
import time
from dataclasses import replace

import pytest
from pypdf import PdfReader

from lostgallon.job import port as job_port
from lostgallon.job.account import Asked, account_of
from lostgallon.web.app import create_app
from lostgallon.web.recorder import Recorder
from lostgallon.web.settings import Settings
from tests.web.shop import HATCH, SECRET, TestClient

# The number of all ones has a check digit that fits (49 CFR 565.15: the weights add up to 89, and 89 mod 11 is 1).
VIN = "1" * 17


@pytest.fixture
def demo(shop):
    """The shop as the demo serves it, with recordings of its own folder."""
    shop.desk = replace(shop.desk, guide=True, recorder=Recorder(shop.folder / "recordings"))
    shop.app = create_app(shop.desk, Settings(secret=SECRET))
    shop.client = TestClient(shop.app, base_url="http://127.0.0.1", follow_redirects=False)
    yield shop
    shop.desk.recorder.close()


def waited(shop, visit, seconds=120.0):
    run = shop.desk.recorder.of(visit)
    assert run.over.wait(seconds)
    return run


@pytest.fixture
def quick(monkeypatch):
    """A simulated vehicle that lives as fast as the processor goes."""
    monkeypatch.setattr("lostgallon.web.handlers.port.DEMO_TIMES_FASTER", None)


def test_the_page_has_its_cautions_before_the_start(demo):
    text = demo.get(f"/visit/{demo.visit()}/port").text
    start = text.index("Start recording")
    for caution in job_port.CAUTIONS:
        assert text.index(caution) < start
    assert "nothing is cleared, written or commanded" in text
    assert "before CAN" in text
    assert "#real" in text


def test_a_recorded_drive_lands_in_the_visit_as_findings(demo, quick):
    visit = demo.visit()
    assert demo.post(f"/visit/{visit}/port/start", {"channel": "demo"}).status_code == 303
    run = waited(demo, visit)
    assert run.trouble == ""
    sheet = demo.desk.sheet(visit)
    kept = sheet.standing["evidence.drive_log"].value
    assert kept["port"]["ended_by"] == "silent"
    assert demo.desk.store.file(kept["sha256"]) is not None
    raw = demo.desk.store.file_path(kept["port"]["raw"]["sha256"]).read_text("utf-8")
    assert raw.startswith("time_s,module,request,answer\n")
    assert not list((demo.folder / "recordings").iterdir())
    text = demo.get(f"/visit/{visit}/port").text
    assert "ignition off, or the plug came out. Everything up to there is kept." in text
    # The account of this very case, worked out as the worker does: the open thermostat is a finding of its own.
    account = account_of(sheet.case, Asked(draws=500))
    row = next(one for one in account.findings if one.check == "warmup_trace")
    assert row.value[0].endswith("degC")
    assert float(row.value[0].split()[0]) < 70.0
    assert "thermostat" in account.drive.sentence
    demo.desk.accounts._submit = _answering(account)
    demo.desk.record(visit, "use.trip", "6 mi", who="bench", mark="anew")
    page = demo.get(f"/visit/{visit}").text
    findings = page[page.index('id="findings"') : page.index('id="corrections"')]
    assert "From the recorded drive" in findings
    assert "P0128" in findings


def _answering(account):
    from tests.web.shop import at_once  # noqa: PLC0415

    return at_once(account)


def test_a_recording_runs_beside_the_pages_and_ends_by_hand(demo, monkeypatch):
    monkeypatch.setattr("lostgallon.web.handlers.port.DEMO_TIMES_FASTER", 20.0)
    visit = demo.visit()
    demo.post(f"/visit/{visit}/port/start", {"channel": "demo-sound"})
    run = demo.desk.recorder.of(visit)
    until = time.monotonic() + 60.0
    while run.rows < 30 and time.monotonic() < until:
        time.sleep(0.05)
    text = demo.get(f"/visit/{visit}/port").text
    assert "End it and keep it" in text
    assert "Start recording" not in text
    assert "lines" in text
    # There is one adapter: neither another vehicle nor the memory can be read meanwhile; the same start is no second one.
    other = demo.visit(mark="second")
    assert "recording" in demo.post(f"/visit/{other}/port/start", {"channel": "demo"}).text
    assert demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"}).status_code == 422
    assert demo.post(f"/visit/{visit}/port/start", {"channel": "demo"}).status_code == 303
    assert demo.desk.recorder.of(visit) is run
    demo.post(f"/visit/{visit}/port/stop")
    waited(demo, visit)
    kept = demo.desk.sheet(visit).standing["evidence.drive_log"].value
    assert kept["port"]["ended_by"] == "stopped"
    assert kept["port"]["rows"] >= 30
    assert "Ended by hand." in demo.get(f"/visit/{visit}/port").text


def test_a_recording_that_was_cut_off_is_offered_and_kept(demo):
    visit = demo.visit()
    folder = demo.desk.recorder.folder
    log = folder / f"{visit}-07-drive-2026-01-15-1352.csv"
    log.write_text("Time (s),road speed (km/h)\n" + "".join(f"{at},50\n" for at in range(60)), "utf-8")
    log.with_suffix(".raw.csv").write_text("time_s,module,request,answer\n", "utf-8")
    assert "was not brought in" in demo.get(f"/visit/{visit}/port").text
    demo.post(f"/visit/{visit}/port/keep")
    kept = demo.desk.sheet(visit).standing["evidence.drive_log"].value
    assert kept["name"] == "drive-2026-01-15-1352.csv"
    assert not list(folder.iterdir())
    text = demo.get(f"/visit/{visit}/port").text
    assert "was not brought in" not in text
    assert "The program ended while it ran." in text


def test_the_memory_in_one_press(demo):
    visit = demo.visit()
    assert demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"}, key="one").status_code == 303
    sheet = demo.desk.sheet(visit)
    assert sheet.findings["kept_memory"].value["codes"] == ["P0128"]
    # 590 km and 41 warm-ups since the clear: 14.4 km each.
    assert sheet.findings["km_per_warmup"].value["value"] == ["14.4 km"]
    assert "misfire_counts" not in sheet.findings
    text = demo.get(f"/visit/{visit}/port").text
    for said in ("P0128", "powertrain, defined by the standard", "41 warm-ups", "Freeze frame of P0128", "Cylinder 1"):
        assert said in text
    assert demo.desk.sheet(visit).standing["memory.1"].value["read_at"].startswith("2026-01-15T13:50:00")


def test_the_identification_number_goes_to_the_card_and_nowhere_else(demo):
    visit = demo.visit()
    demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"})
    vehicle = demo.desk.store.vehicle(demo.desk.summary(visit).vehicle.id)
    assert vehicle.vin == VIN
    assert "put on the vehicle’s card" in demo.get(f"/visit/{visit}/port").text
    told = repr([(entry.key, entry.value) for entry in demo.desk.store.history(visit)])
    for number in (VIN, VIN.encode().hex()):
        assert number not in told
        assert number not in demo.get(f"/visit/{visit}/port").text
        assert number not in demo.get(f"/visit/{visit}").text
    demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"}, key="again")
    assert "is the one on the vehicle’s card" in demo.get(f"/visit/{visit}/port").text
    # The letter of a sealed visit holds no number either: paper/ is never handed the card.
    demo.desk.store.keep_vehicle(replace(vehicle, vin="1M8GDM9AXKP042788"))
    demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"}, key="third")
    assert "is this the right vehicle?" in demo.get(f"/visit/{visit}/port").text
    assert demo.desk.store.vehicle(vehicle.id).vin == "1M8GDM9AXKP042788"


REFUSED = [
    ("demo", "the simulated vehicle is for the demo"),
    ("a b", "expected a channel"),
    ("", "expected a channel"),
    ("socketcand:x", "expected a channel"),
]


@pytest.mark.parametrize(("channel", "said"), REFUSED)
def test_channels_that_are_refused_in_a_real_shop(shop, channel, said):
    visit = shop.visit()
    for what in ("start", "memory"):
        answer = shop.post(f"/visit/{visit}/port/{what}", {"channel": channel})
        assert answer.status_code == 422
        assert said in answer.text


def test_an_adapter_that_is_not_there_is_said_on_the_page(shop):
    visit = shop.visit()
    shop.post(f"/visit/{visit}/port/start", {"channel": "no_such0"})
    waited(shop, visit)
    text = shop.get(f"/visit/{visit}/port").text
    assert "be opened" in text
    assert 'value="no_such0"' in text


def test_without_the_extra_the_page_says_how_to_get_it(shop, monkeypatch):
    monkeypatch.setattr("lostgallon.web.pages.port.has_extra", lambda: False)
    monkeypatch.setattr("lostgallon.job.port.has_extra", lambda: False)
    visit = shop.visit()
    text = shop.get(f"/visit/{visit}/port").text
    assert "lostgallon[port]" in text
    assert "Start recording" not in text
    assert shop.post(f"/visit/{visit}/port/start", {"channel": "can0"}).status_code == 422


def test_in_spanish(demo):
    visit = demo.visit()
    demo.post("/choices", {"language": "es"})
    demo.post(f"/visit/{visit}/port/memory", {"channel": "demo-leak"})
    text = demo.get(f"/visit/{visit}/port").text
    assert "La toma solo se lee" in text
    assert "Códigos guardados" in text
    assert "extracción de gases" in text
    assert HATCH["vehicle.cylinders"] == 4


def test_no_letter_holds_the_number(demo):
    visit = demo.visit()
    demo.post(f"/visit/{visit}/port/memory", {"channel": "demo"})
    letter = demo.get(f"/visit/{visit}/letter.pdf")
    assert letter.status_code == 200
    text = "".join(page.extract_text() for page in PdfReader(io.BytesIO(letter.content)).pages)
    assert len(text) > 500
    assert VIN not in text.replace(" ", "")


def test_an_older_vehicle_is_told_that_it_may_have_no_can(demo):
    assert "Up to 2007" not in demo.get(f"/visit/{demo.visit()}/port").text
    older = demo.visit({**HATCH, "vehicle.model_year": 2004}, mark="older")
    assert (
        "This vehicle is of model year 2004. Up to 2007 many speak on other wires"
        in demo.get(f"/visit/{older}/port").text
    )


def test_nothing_is_recorded_after_the_hand_back(demo):
    visit = demo.visit()
    demo.desk.store.seal(visit, "{}", b"letter", who="bench")
    for what in ("start", "memory", "keep"):
        assert demo.post(f"/visit/{visit}/port/{what}", {"channel": "demo"}).status_code == 422
    assert "was handed back" in demo.get(f"/visit/{visit}/port").text


def test_the_way_to_the_port(demo):
    visit = demo.visit()
    way = f'href="/visit/{visit}/port"'
    assert way in demo.get(f"/visit/{visit}").text
    assert way in demo.get(f"/visit/{visit}/check/kept_memory").text
    assert way not in demo.get(f"/visit/{visit}/check/tire_pressure").text
