"""A job file: one brace from blank to window, in the shop's own units, and the plan that follows from it."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from . import (
    Bar,
    Bench,
    Blank,
    Brace,
    Calibration,
    FitReport,
    Goal,
    InvalidInputError,
    Plan,
    Profile,
    Reading,
    ReadingsError,
    Rig,
    Section,
    Wood,
    carve_to,
    parse_force_n,
    parse_length_mm,
    parse_mass_g,
    plan_passes,
    read_readings,
)
from .tables import LogRow, read_log, read_rows

SCHEMA = "bracewright/job/1"
"""First line of a job file: its schema and version."""

_UNITS = {"mm": parse_length_mm, "N": parse_force_n, "g": parse_mass_g}
_KNOWN = {
    "": {"schema", "name", "wood", "climate", "blank", "rig", "readings", "shape", "section", "passes", "goal", "vary",
         "overshoot", "log"},
    "blank": {"stations", "length", "height", "width", "mass", "ring_angle_deg", "run_out"},
    "rig": {"name", "span", "load", "dial", "bar"},
    "shape": {"height", "stations", "ends", "scallops"},
    "passes": {"max_depth", "gouge_radius", "smallest_safe_height", "untouched", "side", "middle", "cap"},
    "goal": {"low", "high"},
    "bar": {"modulus_gpa", "poisson", "width", "u_stiffness", "readings"},
    "ends": {"length", "height", "blend"},
    "scallops": {"at", "length", "depth", "shape"},
    "section": {"family", "rise", "crest_width", "rise_of_height"},
    "climate": {"temperature_c", "rh_percent"},
}  # fmt: skip


@dataclass(frozen=True)
class Job:
    """What a job file says, checked and made into values."""

    name: str
    folder: Path
    blank: Blank
    rig: Rig
    calibration: Calibration | None
    reading: Reading | None
    doubts: list[str]
    """What there is to say of the readings: figures set aside, seats apart."""
    start: Blank | Brace
    """What the first pass begins with: the stick, or the stick with its cap worked."""
    brace: Brace
    goal: Goal
    vary: str
    overshoot: float
    passes: dict[str, Any]
    log: Path | None

    def plan(self, brace: Brace | None = None) -> Plan:
        """Passes from the blank as it stands to the drawing, or to another brace inside it."""
        return plan_passes(self.start, brace if brace is not None else self.brace, **self.passes)

    def fit(self, vary: str | None = None) -> FitReport:
        """The named dimension solved so that the reading meets the middle of the window."""
        floor = self.passes.get("smallest_safe_height_mm") or 3.0
        return carve_to(self.brace, goal=self.goal, vary=vary or self.vary, smallest_safe_height_mm=floor)

    def bench(self, plan: Plan, log: Path | None = None) -> Bench:
        """A bench on that plan that has seen every line of the log."""
        bench = Bench(plan, goal=self.goal, overshoot=self.overshoot)
        path = log or self.log
        return bench if path is None else _replay(bench, path, self.logged(log))

    def logged(self, log: Path | None = None) -> list[LogRow]:
        """The rows of the log, the job's own when none is given; empty without one."""
        path = log or self.log
        return [] if path is None else read_log(path, cap_done=isinstance(self.start, Brace))


def read_job(path: str | Path) -> Job:
    """Reads a job file and the tables it names (paths are relative to it). A sentence says what is wrong where."""
    path = Path(path)
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
    except OSError as e:
        raise ReadingsError(f"{path}: cannot be opened ({e.strerror})") from e
    except (UnicodeDecodeError, json.JSONDecodeError) as e:
        raise ReadingsError(f"{path}: is not JSON in UTF-8 ({e})") from e
    if not isinstance(data, dict):
        raise ReadingsError(f'{path}: holds {type(data).__name__}; a job file is an object that starts with "schema"')
    _check_schema(path, data.get("schema"))
    return _Reader(path, data).job()


def _check_schema(path: Path, found: object) -> None:
    family, _, version = str(found or "").rpartition("/")
    if found is None:
        raise ReadingsError(f'{path}: has no "schema"; a job file begins with "schema": "{SCHEMA}"')
    if family != SCHEMA.rpartition("/")[0]:
        raise ReadingsError(f'{path}: says schema "{found}"; a job file says "{SCHEMA}"')
    if not version.isdigit() or int(version) < 1:
        raise ReadingsError(f'{path}: says schema "{found}"; its version must be a number, as in "{SCHEMA}"')
    if int(version) > int(SCHEMA.rpartition("/")[2]):
        raise ReadingsError(f'{path}: was written by a newer version ("{found}"); this one reads up to "{SCHEMA}"')


class _Reader:
    def __init__(self, path: Path, data: dict[str, Any]) -> None:
        self.path, self.folder, self.data = path, path.parent, data
        self._known("", data)

    def _known(self, where: str, part: dict[str, Any]) -> None:
        for key in part:
            if key not in _KNOWN[where]:
                place = f'"{where}" has' if where else "has"
                allowed = ", ".join(sorted(_KNOWN[where]))
                raise ReadingsError(f'{self.path}: {place} a field "{key}" that is not known; the fields are: {allowed}')

    def part(self, name: str) -> dict[str, Any]:
        part = self.data.get(name)
        if not isinstance(part, dict):
            raise ReadingsError(f'{self.path}: needs "{name}", an object')
        self._known(name, part)
        return part

    def fields(self, name: str, part: object) -> dict[str, Any]:
        """An object inside a part, its fields known."""
        if not isinstance(part, dict):
            fields = ", ".join(sorted(_KNOWN[name]))
            raise ReadingsError(f'{self.path}: "{name}" is {part!r}; it must be an object with: {fields}')
        self._known(name, part)
        return part

    def text(self, part: dict[str, Any], key: str, default: str | None = None) -> Any:
        """Text, or the default; which words are known is the core's affair."""
        value = part.get(key, default)
        if value is not None and not isinstance(value, str):
            raise ReadingsError(f'{self.path}: "{key}" is {value!r}; it must be text')
        return value

    def plain(self, part: dict[str, Any], key: str, default: float | None = None) -> float | None:
        """A plain number, which may be written as a fraction: 0.067 or "1/15"."""
        value = part.get(key, default)
        if isinstance(value, str) and value.count("/") == 1:
            top, bottom = value.split("/")
            try:
                return float(top.replace(",", ".")) / float(bottom.replace(",", "."))
            except (ValueError, ZeroDivisionError):
                value = part[key]
        if value is not None and (isinstance(value, bool) or not isinstance(value, (int, float))):
            raise ReadingsError(f'{self.path}: "{key}" is {value!r}; it must be a number, or a fraction such as "1/15"')
        return value

    def number(self, part: dict[str, Any], key: str, unit: str, default: float | None = None) -> float:
        """A number in the surface unit, or a string with its own unit."""
        value = part.get(key, default)
        if value is None:
            raise ReadingsError(f'{self.path}: needs "{key}", for instance "{key}": "8 {unit}"')
        if isinstance(value, str):
            try:
                return _UNITS[unit](value, default_unit=unit)
            except InvalidInputError as e:
                raise ReadingsError(f'{self.path}: "{key}": {e}') from e
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise ReadingsError(f'{self.path}: "{key}" is {value!r}; it must be a number in {unit} or text such as "8 {unit}"')
        return float(value)

    def file(self, name: object) -> Path:
        if not isinstance(name, str):
            raise ReadingsError(f"{self.path}: {name!r} must be the name of a file")
        return self.folder / name

    def job(self) -> Job:
        data = self.data
        wood = self.wood()
        blank = self.blank(wood)
        rig, calibration = self.rig()
        reading: Reading | None = None
        doubts: list[str] = []
        if data.get("readings") is not None:
            path = self.file(data["readings"])
            reading, doubts = _read_table(rig, path)
            try:
                blank = blank.learn(reading)
            except InvalidInputError as e:
                raise ReadingsError(f"{path}: {e}") from e
        goal = self.part("goal")
        passes, section = self.passes(), self.section()
        cap_done = passes.pop("cap") == "done"
        return Job(
            name=self.text(data, "name") or self.path.stem,
            folder=self.folder,
            blank=blank,
            rig=rig,
            calibration=calibration,
            reading=reading,
            doubts=doubts,
            start=Brace(blank, blank.profile, section) if cap_done else blank,
            brace=Brace(blank, self.shape(blank), section),
            goal=rig.between(self.number(goal, "low", "mm"), self.number(goal, "high", "mm")),
            vary=self.text(data, "vary", "scallop depth") or "scallop depth",
            overshoot=self.overshoot(),
            passes=passes,
            log=self.file(data["log"]) if data.get("log") is not None else None,
        )

    def overshoot(self) -> float:
        value = self.plain(self.data, "overshoot", 0.02)
        if value is None or not 1e-6 <= value <= 0.5:
            raise ReadingsError(f'{self.path}: "overshoot" is {value}; it must be a chance from 1e-6 to 0.5: 2 % is 0.02')
        return value

    def wood(self) -> Wood:
        given = self.data.get("wood")
        if isinstance(given, dict) and "file" in given:
            wood = Wood.from_file(self.file(given["file"]), name=given.get("name"))
        elif isinstance(given, str):
            wood = Wood.published(given)
        else:
            raise ReadingsError(f'{self.path}: needs "wood", a species\' name or {{"file": "..."}}')
        climate = self.data.get("climate")
        if climate is None:
            return wood
        if not isinstance(climate, dict) or not {"temperature_c", "rh_percent"} <= climate.keys():
            raise ReadingsError(f'{self.path}: "climate" needs "temperature_c" and "rh_percent"')
        self._known("climate", climate)
        temperature, humidity = self.plain(climate, "temperature_c"), self.plain(climate, "rh_percent")
        if temperature is None or humidity is None:
            raise ReadingsError(f'{self.path}: "climate" needs numbers for "temperature_c" and "rh_percent"')
        if humidity < 2.0:
            raise ReadingsError(f'{self.path}: "rh_percent" is {humidity:g}; 45 % is 45, not 0.45')
        return wood.at_climate(temperature_c=temperature, rh_percent=humidity)

    def blank(self, wood: Wood) -> Blank:
        part = self.part("blank")
        width = self.number(part, "width", "mm")
        mass = self.number(part, "mass", "g") if part.get("mass") is not None else None
        grain = {k: self.plain(part, k, 0.0) or 0.0 for k in ("ring_angle_deg", "run_out")}
        if part.get("stations") is not None:
            profile = Profile.from_csv(self.file(part["stations"]))
            return Blank.shaped(wood, profile, width_mm=width, mass_g=mass, **grain)
        length, height = self.number(part, "length", "mm"), self.number(part, "height", "mm")
        return Blank(wood, length_mm=length, width_mm=width, height_mm=height, mass_g=mass, **grain)

    def rig(self) -> tuple[Rig, Calibration | None]:
        part = self.part("rig")
        rig = Rig.three_point(
            span_mm=self.number(part, "span", "mm"),
            load_n=self.number(part, "load", "N"),
            name=self.text(part, "name"),
            dial=self.text(part, "dial", "underside") or "underside",
        )
        bar = part.get("bar")
        if bar is None:
            return rig, None
        bar = self.fields("bar", bar)
        rows = read_rows(
            self.file(bar.get("readings")),
            ("bar_height_mm", "deflection_mm"),
            ("note", "date"),
            ("bar_height", "load", "deflection"),
        )
        width = self.number(bar, "width", "mm")
        seen = []
        for line, row in rows:
            if missing := {"bar_height_mm", "deflection_mm"} - row.keys():
                raise ReadingsError(f"{self.file(bar.get('readings'))}, line {line}: has no {sorted(missing)[0]}")
            steel = Bar(
                modulus_gpa=self.plain(bar, "modulus_gpa") or 0.0,
                poisson=self.plain(bar, "poisson", 0.3) or 0.3,
                width_mm=width,
                height_mm=float(row["bar_height_mm"]),
                u_stiffness=self.plain(bar, "u_stiffness", 0.01) or 0.01,
            )
            seen.append((steel, float(row.get("load_n", rig.load_n)), float(row["deflection_mm"])))
        calibration = rig.calibrated(seen)
        return calibration.rig, calibration

    def shape(self, blank: Blank) -> Profile:
        part = self.part("shape")
        if part.get("stations") is not None:
            profile = Profile.from_csv(self.file(part["stations"]))
        else:
            profile = Profile.straight(blank.length_mm, self.number(part, "height", "mm"))
        ends = part.get("ends")
        if ends is not None:
            ends = self.fields("ends", ends)
            length, height = self.number(ends, "length", "mm"), self.number(ends, "height", "mm")
            profile = profile.with_ends(length_mm=length, height_mm=height, blend=self.text(ends, "blend", "cosine") or "cosine")
        scallops = part.get("scallops") or []
        if not isinstance(scallops, list):
            raise ReadingsError(f'{self.path}: "scallops" is {scallops!r}; it must be a list of objects')
        for s in (self.fields("scallops", s) for s in scallops):
            profile = profile.with_scallop(
                at_mm=self.number(s, "at", "mm"),
                length_mm=self.number(s, "length", "mm"),
                depth_mm=self.number(s, "depth", "mm"),
                shape=self.text(s, "shape", "cosine") or "cosine",
            )
        return profile

    def section(self) -> Section:
        part = self.fields("section", self.data.get("section") or {"family": "rectangle"})
        rise = self.number(part, "rise", "mm") if part.get("rise") is not None else None
        crest = self.number(part, "crest_width", "mm") if part.get("crest_width") is not None else None
        return Section.named(self.text(part, "family", "rectangle") or "rectangle", crest_width_mm=crest, rise_mm=rise,
                             rise_of_height=self.plain(part, "rise_of_height"))  # fmt: skip

    def passes(self) -> dict[str, Any]:
        part = self.part("passes")
        zones = part.get("untouched") or []
        if not isinstance(zones, list) or not all(isinstance(z, list) and len(z) == 2 for z in zones):
            raise ReadingsError(f'{self.path}: "untouched" is {zones!r}; it must be a list of stretches, as in [[150, 250]]')
        side, cap = self.text(part, "side", "both") or "both", self.text(part, "cap", "planned") or "planned"
        if cap not in ("planned", "done"):
            raise ReadingsError(f'{self.path}: "cap" is {cap!r}; it must be "planned" (the first pass) or "done" (already)')
        capped = (self.data.get("section") or {"family": "rectangle"}) != {"family": "rectangle"}
        if side in ("left", "right") and cap == "planned" and capped:
            raise ReadingsError(
                f'{self.path}: "side" is "{side}", but the cap runs the whole length. Work the cap first ("side": "both" prints '
                f'it as pass 1), then say "cap": "done" under "passes", and the passes are of the {side} side alone'
            )
        return {
            "cap": cap,
            "max_depth_mm": self.number(part, "max_depth", "mm"),
            "gouge_radius_mm": self.number(part, "gouge_radius", "mm") if part.get("gouge_radius") else None,
            "smallest_safe_height_mm": self.number(part, "smallest_safe_height", "mm")
            if part.get("smallest_safe_height")
            else None,
            "untouched": [tuple(self.number({"untouched": v}, "untouched", "mm") for v in z) for z in zones],
            "side": side,
            "middle_mm": self.number(part, "middle", "mm") if part.get("middle") is not None else None,
        }


def read_table(rig: Rig, path: str | Path) -> Reading:
    """A table of dial readings as one reading on a rig: repeats within a seat averaged, seats told apart."""
    return _read_table(rig, Path(path))[0]


def _read_table(rig: Rig, path: Path) -> tuple[Reading, list[str]]:
    """The reading, and what there is to say of it: figures set aside, seats further apart than the gauge explains."""
    rows = read_readings(path)
    seats: dict[int, list[float]] = {}
    for row in rows:
        if abs(row.load_n / rig.load_n - 1.0) > 0.005:
            raise ReadingsError(
                f"{path}, line {row.line}: the load is {row.load_n:.4g} N, the rig's {rig.load_n:.4g} N; "
                "readings at another load go with a rig of that load"
            )
        seats.setdefault(row.seat, []).append(row.deflection_mm)
    try:
        reading = rig.reading(list(seats.values()))
    except InvalidInputError as e:
        raise ReadingsError(f"{path}: {e}") from e
    said = []
    left = list(reading.left_out)
    for row in rows:
        if row.deflection_mm in left:
            left.remove(row.deflection_mm)
            said.append(
                f"{path.name}, line {row.line}: {row.deflection_mm:g} mm of seat {row.seat} stands off the rest of its seat "
                "and was set aside; strike it out, or seat the brace again and read again"
            )
    kept = {k: [d for d in v if d not in reading.left_out] for k, v in seats.items()}
    means = {k: sum(v) / len(v) for k, v in kept.items() if v}
    apart = max(means.values()) - min(means.values())
    if len(means) > 1 and apart > 4.0 * rig.u_deflection_mm:
        all_seats = ", ".join(f"seat {k} {m:.3f} mm" for k, m in means.items())
        said.append(
            f"{path.name}: the seats differ by {apart:.3f} mm ({all_seats}), more than the gauge explains; the uncertainty is "
            "widened to that. Seat the brace once more and read, to see which is right"
        )
    return reading, said


def _replay(bench: Bench, path: Path, rows: list[LogRow]) -> Bench:
    """Every line of a log in turn: `cap`, `reading` or `pass`, with what was weighed and read."""
    for row in rows:
        try:
            if row.step == "cap":
                bench = bench.after_cap(shavings_g=row.shavings_g)
                if row.deflection_mm is not None:
                    bench = bench.after_reading(row.deflection_mm)
            elif row.step == "reading":
                bench = bench.after_reading(row.deflection_mm)
            else:
                bench = bench.after_pass(
                    aimed_mm=row.aimed_mm, shavings_g=row.shavings_g, brace_g=row.brace_g, deflection_mm=row.deflection_mm
                )
        except InvalidInputError as e:
            raise ReadingsError(f"{path}, line {row.line} ({row.what}): {e}") from e
    return bench
