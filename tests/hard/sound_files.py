"""Sound files of every kind that the program reads, for tests/hard/mangled.py to damage."""

import io
import tempfile
from importlib import resources
from pathlib import Path


def _demo(suffix):
    folder = resources.files("lostgallon.data") / "demo"
    return [one.read_bytes() for one in folder.iterdir() if one.name.endswith(suffix)]


def case_seeds():
    return [text for text in _demo(".toml") if b"[vehicle]" in text]


def fill_seeds():
    plain = _demo(".csv")
    german = b"Datum;Kilometerstand (km);Liter\n" + b"".join(
        b"%02d.%02d.2024;%d;%d,%02d\n" % (1 + n % 27, 1 + n // 3 % 12, 50_000 + 600 * n, 40 + n % 7, n)
        for n in range(36)
    )
    lines = b"".join(
        b'{"date": "2024-%02d-%02d", "odometer_km": %d, "volume_l": %d.5}\n'
        % (1 + n // 3, 1 + 9 * (n % 3), 9000 + 500 * n, 35 + n % 5)
        for n in range(30)
    )
    return [*plain, german, lines]


def sheet_seeds():
    from fillups.sheets import write_ods, write_xlsx  # noqa: PLC0415 - only for this kind

    rows = [["date", "odometer km", "volume L"]]
    rows += [[f"2024-{1 + n // 3:02d}-{1 + 9 * (n % 3):02d}", 9000.0 + 500 * n, 35.0 + n % 5] for n in range(30)]
    with tempfile.TemporaryDirectory() as folder:
        for name, write in (("a.xlsx", write_xlsx), ("a.ods", write_ods)):
            write(Path(folder) / name, rows)
        return [(Path(folder) / name).read_bytes() for name in ("a.xlsx", "a.ods")]


def drive_seeds():
    import numpy as np  # noqa: PLC0415 - only for this kind

    from drives import synthetic  # noqa: PLC0415 - the same

    rng = np.random.default_rng(5)
    made = synthetic.make(rng)
    signals = synthetic.drive(made, rng, ambient_c=5.0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "log.csv"
        found = []
        for style in range(len(synthetic.HEADINGS)):
            whole = synthetic.write_log(path, signals, rng, rate_hz=1.0, style=style).read_bytes()
            found.append(b"\n".join(whole.split(b"\n")[:400]) + b"\n")
    return found


def mdf_seeds():
    import numpy as np  # noqa: PLC0415 - only for this kind
    from asammdf import MDF, Signal  # noqa: PLC0415 - the same

    time_s = np.arange(0.0, 120.0, 0.5)
    speed = 40 + 30 * np.sin(time_s / 9)
    signals = [
        Signal(speed, time_s, unit="km/h", name="Vehicle speed"),
        Signal(1000 + 20 * speed, time_s, unit="rpm", name="Engine RPM"),
        Signal(2 + speed / 9, time_s, unit="g/s", name="MAF"),
        Signal(np.minimum(20 + time_s, 90), time_s, unit="degC", name="Coolant temperature"),
    ]
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for compression in (0, 1):
            with MDF(version="4.10") as log:
                log.append(signals)
                found.append(Path(log.save(Path(folder) / f"{compression}.mf4", compression=compression)).read_bytes())
    return found


def image_seeds():
    from PIL import Image  # noqa: PLC0415 - only for this kind

    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[2] = (48.0, 51.0, 29.0)
    picture = Image.radial_gradient("L").resize((320, 200)).convert("RGB")
    found = []
    for kind, more in (("JPEG", {"exif": exif}), ("JPEG", {"progressive": True}), ("PNG", {}), ("WEBP", {"exif": exif}), ("GIF", {}),
                       ("BMP", {}), ("TIFF", {"compression": "tiff_lzw"}), ("TIFF", {})):  # fmt: skip
        out = io.BytesIO()
        picture.save(out, format=kind, **more)
        found.append(out.getvalue())
    return found
