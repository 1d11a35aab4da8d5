"""Drives made up from first principles, with a fault of known size, as a logger would have written them.

Nothing here is shared with the program but published constants: another way to fill the cylinders (air a stroke straight
against manifold pressure), another cooling model (two lumps and a thermostat that opens over a range), another way to
make trims (what the injectors must add to the meter's reading). Sizes of scatter are stated at each draw.
"""

from dataclasses import dataclass, field, replace

import numpy as np

STEP_S = 0.2
G, AIR_J_KG_K, ZERO_C = 9.80665, 287.05, 273.15
AFR, HEATING_J_G, DENSITY_G_L = 14.4, 43_000.0, 745.0


@dataclass(frozen=True)
class Faults:
    """Sizes of faults; all zero is a sound vehicle."""

    drag_n: float = 0.0
    slip_rpm: float = 0.0
    thermostat_open: bool = False
    leak_share_of_idle: float = 0.0
    meter_error: float = 0.0


@dataclass(frozen=True)
class Made:
    """A vehicle: road load as certified, engine, gearing (rpm per km/h, top gear last)."""

    mass_kg: float
    f0_n: float
    f2_n: float
    displacement_l: float
    gears: tuple[float, ...]
    banks: int
    faults: Faults = field(default_factory=Faults)


@dataclass(frozen=True)
class Signals:
    """Everything a port could give, on the simulation's own fine clock."""

    time_s: np.ndarray
    values: dict
    distance_m: float
    fuel_l: float


def make(rng, faults=None):
    """A vehicle drawn from what is on the road: 1.1 to 2.2 t, 1.4 to 3.6 L, five or six gears."""
    mass = rng.uniform(1150.0, 2200.0)
    liters = float(np.clip(mass / 650.0 * rng.lognormal(0.0, 0.15), 1.3, 4.0))
    top = rng.uniform(19.0, 27.0)
    count = int(rng.integers(5, 7))
    steps = np.cumprod([1.0, 1.30, 1.36, 1.45, 1.60, 1.65])[:count]
    return Made(
        mass_kg=mass,
        f0_n=mass * G * rng.uniform(0.0085, 0.0120),
        f2_n=0.5 * 1.167 * rng.uniform(0.55, 0.95),
        displacement_l=liters,
        gears=tuple(top * steps[::-1]),
        banks=2 if liters > 2.4 else 1,
        faults=faults or Faults(),
    )


def drive(vehicle, rng, *, ambient_c, coasts=3):
    """Cold start, idle, town, road, highway over gentle hills with pulls, coasts both ways, and a warm idle."""
    road = _Road(vehicle, rng, ambient_c)
    road.stand(rng.uniform(15.0, 60.0))
    for _ in range(int(rng.integers(4, 8))):
        road.go(rng.uniform(30.0, 55.0), rate=rng.uniform(0.8, 1.4), hold_s=rng.uniform(20.0, 60.0))
        road.stop(rng.uniform(0.8, 1.5), rng.uniform(5.0, 30.0))
    road.go(rng.uniform(65.0, 80.0), rate=1.2, hold_s=rng.uniform(60.0, 120.0))
    for _ in range(int(rng.integers(4, 7))):
        road.go(rng.uniform(85.0, 115.0), rate=rng.uniform(0.5, 1.3), hold_s=rng.uniform(60.0, 120.0))
        road.go(rng.uniform(75.0, 95.0), rate=0.5, hold_s=rng.uniform(30.0, 60.0))
    grade, wind = rng.normal(0.0, 0.003), rng.normal(0.0, 1.5)
    for side in [1, -1] * coasts:
        road.go(98.0, rate=1.3, hold_s=4.0, hills=False)
        road.coast(to_km_h=55.0, grade=side * grade + rng.normal(0.0, 0.0002), wind_m_s=side * wind)
        road.stop(1.5, 8.0)
    road.go(45.0, rate=1.0, hold_s=20.0)
    road.stop(1.2, rng.uniform(70.0, 110.0))
    return road.signals()


class _Road:
    """Builds speed, grade, gear state piece by piece; the engine is worked out afterwards for all pieces at once."""

    def __init__(self, vehicle, rng, ambient_c):
        self.vehicle, self.rng, self.ambient_c = vehicle, rng, ambient_c
        self.speed, self.grade, self.neutral, self.wind = [np.zeros(1)], [np.zeros(1)], [np.zeros(1)], [np.zeros(1)]

    def _now(self):
        return float(self.speed[-1][-1])

    def _add(self, speed, grade=None, *, neutral=0.0, wind=0.0):
        self.speed.append(np.asarray(speed))
        self.grade.append(np.zeros(len(speed)) if grade is None else grade)
        self.neutral.append(np.full(len(speed), neutral))
        self.wind.append(np.full(len(speed), wind))

    def stand(self, seconds):
        self._add(np.zeros(int(seconds / STEP_S)))

    def go(self, km_h, *, rate, hold_s, hills=True):
        target = km_h / 3.6
        steps = max(int(abs(target - self._now()) / rate / STEP_S), 1)
        self._add(np.linspace(self._now(), target, steps + 1)[1:])
        count = int(hold_s / STEP_S)
        # Speed wanders by half a m/s over ten seconds, hills of 1 % over thirty: a driver on a rolling road.
        wander = _smooth_noise(self.rng, count, 10.0) * 0.5
        slope = _smooth_noise(self.rng, count, 30.0) * 0.010 if hills else np.zeros(count)
        ease = np.minimum(np.arange(count) / (5.0 / STEP_S), 1.0)
        self._add(np.maximum(target + wander * ease, 1.0), slope * ease)

    def stop(self, rate, stand_s):
        steps = max(int(self._now() / rate / STEP_S), 1)
        self._add(np.linspace(self._now(), 0.0, steps + 1)[1:])
        self.stand(stand_s)

    def coast(self, *, to_km_h, grade, wind_m_s):
        v, speeds = self._now(), []
        mass = self.vehicle.mass_kg * 1.035
        density = 98_000.0 / (AIR_J_KG_K * (self.ambient_c + ZERO_C)) / 1.167
        while v > to_km_h / 3.6 and len(speeds) < 900:
            force = self.vehicle.f0_n + self.vehicle.faults.drag_n + self.vehicle.mass_kg * G * grade
            force += density * self.vehicle.f2_n * (v + wind_m_s) * abs(v + wind_m_s)
            v -= STEP_S * max(force, 5.0) / mass
            speeds.append(v)
        self._add(speeds, np.full(len(speeds), grade), neutral=1.0, wind=wind_m_s)

    def signals(self):
        speed, grade = np.concatenate(self.speed), np.concatenate(self.grade)
        return _engine(self.vehicle, self.rng, speed=speed, grade=grade, neutral=np.concatenate(self.neutral) > 0.5,
                       ambient_c=self.ambient_c)  # fmt: skip


def _smooth_noise(rng, count, seconds):
    """Unit-variance noise with a correlation of the given seconds."""
    if count < 2:
        return np.zeros(count)
    window = max(int(seconds / STEP_S), 1)
    raw = rng.standard_normal(count + 4 * window)
    kernel = np.hanning(2 * window + 1)
    smoothed = np.convolve(raw, kernel / np.sqrt(np.sum(kernel**2)), "same")
    return smoothed[2 * window : 2 * window + count]


def _engine(vehicle, rng, *, speed, grade, neutral, ambient_c):
    time = np.arange(len(speed)) * STEP_S
    accel = np.gradient(speed, STEP_S)
    density = 98_000.0 / (AIR_J_KG_K * (ambient_c + ZERO_C)) / 1.167
    resistance = vehicle.f0_n + vehicle.faults.drag_n + density * vehicle.f2_n * speed**2
    force = (speed > 0.05) * resistance + 1.035 * vehicle.mass_kg * accel + vehicle.mass_kg * G * grade
    wheel_w = force * speed
    power_w = np.where(wheel_w > 0, wheel_w / 0.93, wheel_w * 0.9)
    braking = wheel_w < -3500.0
    power_w = np.where(neutral | braking, np.where(neutral, 0.0, -3000.0), power_w)
    gear_rpm, gear = _gears(vehicle, speed, power_w)
    idle_rpm = 720.0
    torque = power_w / np.maximum(gear_rpm, idle_rpm) * 60.0 / (2 * np.pi)
    # Slip is stated at the mean torque of steady driving above 60 km/h and grows with torque, as a converter's does.
    steady = (speed > 16.7) & (np.abs(accel) < 0.4) & ~neutral
    reference = max(float(np.mean(np.maximum(torque[steady], 0.0))) if steady.any() else 60.0, 10.0)
    pull = np.clip(torque / reference, 0.0, 4.0)
    coolant, cut, fuel_g_s, air_g_s, rpm = _run(vehicle, rng, speed=speed, gear_rpm=gear_rpm, gear=gear, power_w=power_w,
                                                pull=pull, neutral=neutral, ambient_c=ambient_c)  # fmt: skip
    values = _sensors(vehicle, rng, speed=speed, rpm=rpm, air=air_g_s, fuel=fuel_g_s, coolant=coolant, cut=cut,
                      ambient_c=ambient_c)  # fmt: skip
    values["pedal"] = np.clip(14.0 + 60.0 * np.maximum(power_w, 0.0) / (45_000.0 * vehicle.displacement_l), 14.0, 95.0)
    return Signals(time, values, float(np.sum(speed) * STEP_S), float(np.sum(fuel_g_s) * STEP_S / DENSITY_G_L))


def _gears(vehicle, speed, power_w):
    """Highest gear that turns at least 1250 rpm, one lower under hard pull; held for two seconds."""
    ratios = np.array(vehicle.gears)
    turns = speed[:, None] * 3.6 * ratios[None, :]
    demand = power_w / (vehicle.displacement_l * 1000.0)
    lowest = 1250.0 + 55.0 * np.clip(demand - 6.0, 0.0, 25.0)
    fits = turns >= lowest[:, None]
    gear = np.where(fits.any(axis=1), fits.shape[1] - 1 - np.argmax(fits[:, ::-1], axis=1), 0)
    hold = int(2.0 / STEP_S)
    for at in range(1, len(gear)):
        if gear[at] != gear[at - 1] and not np.all(gear[at : at + hold] == gear[at]):
            gear[at] = gear[at - 1]
    return turns[np.arange(len(speed)), gear], gear


def _run(vehicle, rng, *, speed, gear_rpm, gear, power_w, pull, neutral, ambient_c):
    """Fuel, air and coolant together: friction and enrichment fall as the coolant rises."""
    count = len(speed)
    coolant, metal = np.empty(count), np.empty(count)
    fuel, rpm_out, cut_out = np.empty(count), np.empty(count), np.zeros(count, bool)
    now = hot = ambient_c + rng.normal(0.0, 0.5)
    water_j_k, metal_j_k = 4200.0 * (2.5 + 1.2 * vehicle.displacement_l), 480.0 * (16.0 + 9.0 * vehicle.displacement_l)
    opens = rng.normal(87.0, 2.5)
    # Radiator with the thermostat open: 100 + 10 v W/K (docs/physics.md, from memory); stuck somewhere from a third open.
    stuck = rng.uniform(0.3, 1.0)
    controlled = 22.0 if rng.random() < 0.3 else 0.0
    noise = _smooth_noise(rng, count, 3.0)
    for at in range(count):
        cold = max(80.0 - now, 0.0) / 100.0
        idle_rpm = 700.0 + 450.0 * cold
        locked = speed[at] > 13.0 and gear[at] >= len(vehicle.gears) - 3 and now > 52.0
        slip = pull[at] * (controlled + vehicle.faults.slip_rpm if locked else 260.0)
        rpm = idle_rpm if neutral[at] else max(gear_rpm[at] + max(slip + 6.0 * noise[at] * (slip > 1.0), 0.0), idle_rpm)
        liters_s = vehicle.displacement_l * rpm / 120.0
        friction_w = (105.0 + 0.016 * rpm) * (1.0 + 1.3 * cold) * liters_s
        indicated_w = power_w[at] + friction_w + 700.0
        cut = power_w[at] < -1500.0 and rpm > 1250.0 and now > 40.0 and not neutral[at]
        rich = 1.0 + 0.25 * cold**2
        burn = 0.0 if cut else max(indicated_w, 0.35 * friction_w) * rich / 0.41 / HEATING_J_G
        heat_w = 0.30 * burn * HEATING_J_G + (0.3 * friction_w if cut else 0.0)
        share_open = stuck if vehicle.faults.thermostat_open else float(np.clip((now - opens) / 9.0, 0.0, 1.0))
        radiator = share_open * (100.0 + 10.0 * speed[at]) * vehicle.displacement_l**0.3
        cabin = 55.0 * float(np.clip((20.0 - ambient_c) / 25.0, 0.0, 1.0))
        exchange = 900.0 * (hot - now)
        hot += STEP_S * (heat_w - exchange - (3.0 + 0.5 * speed[at]) * (hot - ambient_c)) / metal_j_k
        now += STEP_S * (exchange - (radiator + cabin) * (now - ambient_c)) / water_j_k
        coolant[at], metal[at], fuel[at], rpm_out[at], cut_out[at] = now, hot, burn, rpm, cut
    lam = np.where(cut_out, 1.0, 1.0)
    air = np.where(cut_out, 0.12 * vehicle.displacement_l * rpm_out / 120.0, fuel * AFR * lam)
    return coolant, cut_out, fuel, air, rpm_out


def _sensors(vehicle, rng, *, speed, rpm, air, fuel, coolant, cut, ambient_c):
    """What each sensor says, and what the injectors must add to it."""
    faults, count = vehicle.faults, len(speed)
    idle_air = (
        float(np.median(air[(speed < 0.1) & (coolant > 60.0)])) if np.any((speed < 0.1) & (coolant > 60.0)) else 2.0
    )
    leak = faults.leak_share_of_idle * idle_air
    # Sound meters are off by 2 % (sd), and by 1 % more or less along their range; injectors by 1.5 %: together
    # the trims of a sound engine stay within 5 % nineteen times in twenty, which the trade calls good.
    scale = 1.0 + rng.normal(0.0, 0.02) + rng.normal(0.0, 0.01) * np.tanh(air / 20.0 - 1.0)
    metered = np.maximum(air - leak * (air > leak), 0.02) * scale * (1.0 + faults.meter_error)
    intake_c = ambient_c + 6.0 + 14.0 * np.exp(-speed / 12.0) * np.clip((coolant - ambient_c) / 60.0, 0.0, 1.0)
    intake_c[: int(20 / STEP_S)] = ambient_c + rng.uniform(0.0, 2.0)
    # Air a stroke over what the displacement holds outside, straight against manifold pressure; engines differ by 6 %.
    full = vehicle.displacement_l * 98_000.0 / (AIR_J_KG_K * (intake_c + ZERO_C)) * rpm / 120.0
    share = air / np.maximum(full, 0.1)
    manifold = np.clip((share / (1.02 * rng.lognormal(0.0, 0.06)) + 0.09) * 98.0, 18.0, 98.0)
    load = np.clip(100.0 * share / 0.86, 0.0, 100.0)
    values = {
        "speed": speed * 3.6, "rpm": rpm, "coolant": coolant, "intake": intake_c, "ambient": np.full(count, ambient_c),
        "manifold": manifold, "load": load, "air": metered, "barometer": np.full(count, 98.0),
        "fuel_rate": fuel / DENSITY_G_L * 3600.0, "voltage": 14.1 + 0.1 * rng.standard_normal(count),
    }  # fmt: skip
    closed = (coolant > 25.0) & ~cut & (load < 85.0)
    values["status"] = np.where(coolant <= 25.0, 1.0, np.where(closed, 2.0, 4.0))
    own = AFR * (1.0 + rng.normal(0.0, 0.015))
    needed = 100.0 * (fuel / np.maximum(metered / own, 1e-3) - 1.0)
    for bank in range(1, vehicle.banks + 1):
        values |= _trims(rng, bank, needed=needed, closed=closed, load=load, speed=speed)
    return values


def _trims(rng, bank, *, needed, closed, load, speed):
    """Long trim learned by cell of idle, cruise and load; short trim swings about the rest."""
    cells = np.where(speed < 0.5, 0, np.where(load < 60.0, 1, 2))
    offset = rng.normal(0.0, 0.8)
    long = np.zeros(len(needed))
    for cell in range(3):
        where = (cells == cell) & closed
        middle = float(np.median(needed[where])) if where.any() else 0.0
        long[cells == cell] = (
            np.round((middle + offset + rng.normal(0.0, 0.6)) * rng.uniform(0.75, 1.0) / 0.78125) * 0.78125
        )
    rest = np.clip(np.where(closed, needed + offset - long, 0.0), -25.0, 25.0)
    swing = 1.5 * np.sign(_smooth_noise(rng, len(needed), 0.8)) + 0.8 * rng.standard_normal(len(needed))
    short = np.where(closed, rest + swing, 0.0)
    return {f"short_{bank}": short, f"long_{bank}": np.where(np.isfinite(long), long, 0.0)}


PORT_STEP = {
    "speed": 1.0, "rpm": 0.25, "coolant": 1.0, "intake": 1.0, "ambient": 1.0, "manifold": 1.0, "load": 100 / 255, "air": 0.01,
    "barometer": 1.0, "fuel_rate": 0.05, "voltage": 0.001, "status": 1.0, "pedal": 100 / 255, "short_1": 100 / 128,
    "long_1": 100 / 128, "short_2": 100 / 128, "long_2": 100 / 128,
}  # fmt: skip
HEADINGS = (
    {
        "speed": "Vehicle speed (km/h)", "rpm": "Engine speed (rpm)", "coolant": "Engine coolant temperature (°C)",
        "intake": "Intake air temperature (°C)", "ambient": "Ambient air temperature (°C)", "load": "Calculated load value (%)",
        "manifold": "Intake manifold absolute pressure (kPa)", "air": "Mass air flow (g/s)", "pedal": "Accelerator pedal position D (%)",
        "barometer": "Barometric pressure (kPa)", "fuel_rate": "Engine fuel rate (L/h)", "status": "Fuel system status",
        "voltage": "Control module voltage (V)", "short_1": "Short term fuel trim bank 1 (%)", "clock": "Time (s)",
        "long_1": "Long term fuel trim bank 1 (%)", "short_2": "Short term fuel trim bank 2 (%)", "long_2": "Long term fuel trim bank 2 (%)",
    },
    {
        "speed": "VSS", "rpm": "RPM", "coolant": "ECT", "intake": "IAT", "ambient": "AAT", "load": "LOAD_PCT", "manifold": "MAP",
        "air": "MAF", "pedal": "APP_D", "barometer": "BARO", "fuel_rate": "FUEL_RATE", "status": "FUELSYS1", "voltage": "VPWR",
        "short_1": "SHRTFT1", "long_1": "LONGFT1", "short_2": "SHRTFT2", "long_2": "LONGFT2", "clock": "Clock",
    },
    {
        "speed": "Speed [mph]", "rpm": "engine_rpm [1/min]", "coolant": "Coolant Temp [°F]", "intake": "Intake Air Temp [°F]",
        "ambient": "Outside Temp [°F]", "load": "Engine Load [%]", "manifold": "Manifold Pressure [inHg]", "air": "Air Flow [lb/min]",
        "pedal": "Accel Pedal Pos [%]", "barometer": "Baro [inHg]", "fuel_rate": "Fuel Rate [gal/h]", "status": "Loop Status",
        "voltage": "Module Voltage [V]", "short_1": "STFT B1 [%]", "long_1": "LTFT B1 [%]", "short_2": "STFT B2 [%]",
        "long_2": "LTFT B2 [%]", "clock": "Elapsed Time [ms]",
    },
    {
        "speed": "Geschwindigkeit (km/h)", "rpm": "Motordrehzahl (1/min)", "coolant": "Kühlmitteltemperatur (°C)",
        "intake": "Ansauglufttemperatur (°C)", "ambient": "Außentemperatur (°C)", "load": "Motorlast (%)", "air": "Luftmasse (g/s)",
        "manifold": "Saugrohrdruck (kPa)", "pedal": "Pedal position (%)", "barometer": "Barometer (kPa)", "voltage": "Batteriespannung (V)",
        "fuel_rate": "Kraftstoffverbrauch (L/h)", "status": "Fuel system status", "short_1": "Short term trim 1 (%)", "clock": "Zeit",
        "long_1": "Long term trim 1 (%)", "short_2": "Short term trim 2 (%)", "long_2": "Long term trim 2 (%)",
    },
)  # fmt: skip
IMPERIAL = {
    "speed": (1 / 1.609344, 0.0), "coolant": (1.8, 32.0), "intake": (1.8, 32.0), "ambient": (1.8, 32.0),
    "manifold": (1 / 3.386389, 0.0), "barometer": (1 / 3.386389, 0.0), "air": (60 / 453.59237, 0.0), "fuel_rate": (1 / 3.785411784, 0.0),
}  # fmt: skip
ALWAYS = ("speed", "rpm", "coolant", "intake", "load", "air", "pedal", "status")


def write_log(path, signals, rng, *, rate_hz=None, style=None, missing=0.02):
    """Write the drive as a logger would: one channel after another within a row, whole steps of the port, some missing."""
    rate_hz = rate_hz or float(np.exp(rng.uniform(np.log(0.5), np.log(10.0))))
    style = int(rng.integers(0, len(HEADINGS))) if style is None else style
    optional = [name for name in ("manifold", "ambient", "voltage", "barometer") if rng.random() < 0.7]
    optional += ["fuel_rate"] if rng.random() < 0.3 else []
    names = [*ALWAYS, *optional, *(name for name in signals.values if name.startswith(("short", "long")))]
    rows = np.arange(0.0, signals.time_s[-1], 1.0 / rate_hz)
    rows = rows + rng.uniform(0.0, 0.2 / rate_hz, len(rows))
    table = [_column(signals, name, rows + place / len(names) * min(0.8 / rate_hz, 0.6), rng, style=style, missing=missing)
             for place, name in enumerate(names)]  # fmt: skip
    clock = _clock(rows, style)
    comma = style == 3
    separator = ";" if comma else ("\t" if style == 1 else ",")
    lines = [separator.join([HEADINGS[style]["clock"], *(HEADINGS[style][name] for name in names)])]
    if style == 1:
        lines.append(separator.join(["hh:mm:ss", *(_unit(name) for name in names)]))
    body = [separator.join(cells) for cells in zip(clock, *table, strict=True)]
    text = "\n".join([*lines, *body]) + "\n"
    path.write_text(text.replace(".", ",") if comma else text, encoding="cp1252" if comma else "utf-8")
    return path


def _unit(name):
    return {"speed": "km/h", "rpm": "rpm", "coolant": "°C", "intake": "°C", "ambient": "°C", "manifold": "kPa", "barometer": "kPa",
            "air": "g/s", "fuel_rate": "L/h", "voltage": "V", "status": ""}.get(name, "%")  # fmt: skip


def _column(signals, name, at, rng, *, style, missing):
    step = PORT_STEP[name]
    seen = np.interp(at, signals.time_s, signals.values[name])
    if name == "status":
        seen = signals.values[name][np.minimum(np.searchsorted(signals.time_s, at), len(signals.time_s) - 1)]
    seen = np.floor(seen / step + 0.5) * step
    if style == 2 and name in IMPERIAL:
        factor, offset = IMPERIAL[name]
        seen = seen * factor + offset
    gone = rng.random(len(seen)) < missing
    return ["" if lost else f"{value:.4f}".rstrip("0").rstrip(".") for value, lost in zip(seen, gone, strict=True)]


def _clock(rows, style):
    if style == 1:
        day = 9 * 3600.0 + rows
        return [f"{int(t // 3600):02d}:{int(t // 60 % 60):02d}:{t % 60:06.3f}" for t in day]
    if style == 2:
        return [f"{1000.0 * t:.0f}" for t in rows]
    return [f"{t:.2f}" for t in rows]


def faulty(vehicle, **sizes):
    """The same vehicle with faults."""
    return replace(vehicle, faults=Faults(**sizes))
