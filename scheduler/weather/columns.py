"""Which column of a weather table holds what, and in which unit: by its header, or as the plan declares."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scheduler.garden.units import Dimension
from scheduler.weather.findings import Findings
from scheduler.weather.record import VARIABLES

__all__ = ["COLUMN_MAP", "DIMENSIONS", "Column", "find_columns"]

#: Kind of quantity of each variable of a record.
DIMENSIONS: dict[str, Dimension] = {
    "tmax": "temperature",
    "tmin": "temperature",
    "rh_max": "percent",
    "rh_min": "percent",
    "rh_mean": "percent",
    "dew_point": "temperature",
    "wind": "speed",
    "solar_radiation": "radiation",
    "sunshine": "hours",
    "rain": "water_depth",
}
_REQUIRED = ("date", "tmax", "tmin")

# Header names in normal form (see `_normal`), without a unit.
_NAMES = {
    "date": "date local_date observation_date",
    "origin": "origin",
    "tmax": "tmax t_max temp_max max_temp temperature_max max_temperature maximum_temperature "
    "temperature_maximum air_temperature_max max_air_temperature high_temperature temp_high",
    "tmin": "tmin t_min temp_min min_temp temperature_min min_temperature minimum_temperature "
    "temperature_minimum air_temperature_min min_air_temperature low_temperature temp_low",
    "rh_max": "rh_max rhmax max_rh humidity_max max_humidity relative_humidity_max max_relative_humidity "
    "maximum_relative_humidity",
    "rh_min": "rh_min rhmin min_rh humidity_min min_humidity relative_humidity_min min_relative_humidity "
    "minimum_relative_humidity",
    "rh_mean": "rh_mean rhmean rh_avg mean_rh rh humidity humidity_mean mean_humidity relative_humidity "
    "relative_humidity_mean mean_relative_humidity",
    "dew_point": "dew_point dewpoint tdew dew_point_mean mean_dew_point dew_point_temperature",
    "wind": "wind wind_speed windspeed wind_mean mean_wind wind_speed_mean mean_wind_speed wind_avg",
    "solar_radiation": "solar solar_radiation radiation global_radiation shortwave_radiation srad rs",
    "sunshine": "sunshine sunshine_duration bright_sunshine sun",
    "rain": "rain rainfall precipitation precip prcp rain_total precipitation_total",
}
# Unit, as `units.convert` takes it, -> endings of a header in normal form.
_ENDINGS: dict[Dimension, dict[str, str]] = {
    "temperature": {
        "degC": "c degc deg_c celsius degrees_c",
        "degF": "f degf deg_f fahrenheit degrees_f",
    },
    "percent": {"%": "pct percent", "fraction": "fraction"},
    "speed": {
        "m/s": "m_s ms mps m_s_1 m_per_s",
        "km/h": "km_h kmh kph km_per_h",
        "mph": "mph mi_h",
        "kn": "kn kt kts knots",
    },
    "radiation": {
        "MJ/m2": "mj_m2 mjm2 mj_m_2 mj_m2_d mj_m2_day mj_m_2_d_1 mj_m_2_day_1 mj_m2_d_1",
        "W/m2": "w_m2 wm2 w_m_2 watt_m2",
        "kWh/m2": "kwh_m2 kwh_m_2 kwh_m2_d kwh_m2_day",
        "Wh/m2": "wh_m2 wh_m_2 wh_m2_d wh_m2_day",
        "langley": "langley langleys ly cal_cm2",
    },
    "hours": {"h": "h hr hrs hours", "min": "min minutes"},
    "water_depth": {"mm": "mm mm_d mm_day", "in": "in inch inches in_d in_day", "cm": "cm"},
}
# Units for the hint on a column without one; hints are read where inches and degF are common.
_EXAMPLES: dict[Dimension, str] = {
    "temperature": "degF",
    "percent": "%",
    "speed": "mph",
    "radiation": "MJ/m2",
    "hours": "h",
    "water_depth": "in",
}
_BRACKETS = re.compile(r"(?P<name>.*?)\s*[\[(](?P<unit>[^\[\]()]+)[\])]\s*")


def _column_map() -> dict[str, tuple[str, str | None]]:
    """Return every recognised header in normal form, once bare and once with each ending."""
    found: dict[str, tuple[str, str | None]] = {}
    for variable, names in _NAMES.items():
        endings = _ENDINGS[DIMENSIONS[variable]] if variable in DIMENSIONS else {}
        for name in names.split():
            found[name] = (variable, None)
            for unit, words in endings.items():
                found.update({f"{name}_{word}": (variable, unit) for word in words.split()})
    return found


#: Header in normal form -> (variable, unit); the unit is None where the header names none.
COLUMN_MAP: dict[str, tuple[str, str | None]] = _column_map()


@dataclass(frozen=True, slots=True)
class Column:
    """One column that is read: its place, its header as written, and what it holds in which unit.

    `variable` is a key of `VARIABLES`, or ``date`` or ``origin``; these two have the unit ''.
    """

    index: int
    name: str
    variable: str
    unit: str


def find_columns(
    header: Sequence[str], declared: Mapping[str, tuple[str, str]], *, findings: Findings
) -> tuple[Column, ...]:
    """Return the columns to read; what is wrong with the header goes into `findings`.

    A declared column wins over any header that would be recognised as the same variable.

    Parameters
    ----------
    header : sequence of str
        Names of the columns as written.
    declared : mapping of str to (str, str)
        Variable -> (name of its column in the file, unit text), as the plan has it.
    findings : Findings
        Takes the faults (missing, doubled or undeclared columns) and the notes on what was recognised.
    """
    columns = _declared_columns(header, declared, findings)
    taken = {column.index for column in columns}
    ignored: list[str] = []
    for index, name in enumerate(header):
        if index in taken or not name:
            continue
        variable, unit = _recognise(name)
        if variable is None or variable in declared:
            ignored.append(f'"{name}"')
        elif unit is None:
            _refuse_without_unit(name, variable, findings)
        else:
            columns.append(Column(index, name, variable, unit))
    _check_set(columns, header, declared=declared, findings=findings)
    if ignored:
        findings.notes.append(f"columns not read: {', '.join(ignored)}")
    read = [f'{c.variable} from "{c.name}" [{c.unit}]' for c in columns if c.unit]
    findings.notes.append(f"columns read: {', '.join(read)}")
    return tuple(columns)


def _normal(text: str) -> str:
    """Return a header in normal form: small letters, words joined by one underscore."""
    for sign, word in (("°", "deg"), ("º", "deg"), ("%", "pct"), ("²", "2"), ("⁻", "_"), ("¹", "1")):
        text = text.replace(sign, word)
    return re.sub(r"[^a-z0-9]+", "_", text.lower()).strip("_")


def _recognise(name: str) -> tuple[str | None, str | None]:
    """Return (variable, unit) of a header; an unknown unit in brackets is kept for `units` to judge."""
    variable, unit = COLUMN_MAP.get(_normal(name), (None, None))
    if variable in ("date", "origin"):
        return variable, ""
    if variable is None and (match := _BRACKETS.fullmatch(name)):
        bare, unit_of_bare = COLUMN_MAP.get(_normal(match["name"]), (None, None))
        if bare in VARIABLES and unit_of_bare is None:
            return bare, match["unit"].strip()
    return variable, unit


def _declared_columns(
    header: Sequence[str], declared: Mapping[str, tuple[str, str]], findings: Findings
) -> list[Column]:
    """Return the columns that the plan names."""
    columns: list[Column] = []
    for variable, (name, unit) in declared.items():
        where = f"[weather.columns] {variable}"
        places = [i for i, text in enumerate(header) if text.casefold() == name.strip().casefold()]
        if variable not in VARIABLES and variable not in ("date", "origin"):
            findings.fault(where, "no such variable", f"one of date, {', '.join(VARIABLES)}")
        elif len(places) == 1:
            kept = unit if variable in VARIABLES else ""
            columns.append(Column(places[0], header[places[0]], variable, kept))
        else:
            number = "no column" if not places else f"{len(places)} columns"
            names = ", ".join(f'"{text}"' for text in header if text)
            findings.fault(where, f'{number} named "{name}"', f"exactly one; the file has {names}")
    return columns


def _refuse_without_unit(name: str, variable: str, findings: Findings) -> None:
    """Say that a header needs a unit, and how to declare one."""
    unit = _EXAMPLES[DIMENSIONS[variable]]
    findings.fault(
        f'column "{name}"',
        f"no unit for {variable}",
        f"name it in the header, or declare it in the plan: [weather.columns] {variable} = "
        f'{{ column = "{name}", unit = "{unit}" }}',
    )


def _check_set(
    columns: Sequence[Column],
    header: Sequence[str],
    *,
    declared: Mapping[str, tuple[str, str]],
    findings: Findings,
) -> None:
    """Refuse two columns of one variable, one column for two variables, and a missing needed column."""
    for variable in dict.fromkeys(column.variable for column in columns):
        names = [f'"{column.name}"' for column in columns if column.variable == variable]
        if len(names) > 1:
            findings.fault(
                f"columns {' and '.join(names)}",
                f"both hold {variable}",
                f"say which one to read: [weather.columns] {variable} = {{ column = ..., unit = ... }}",
            )
    for index in sorted({column.index for column in columns}):
        holds = [column.variable for column in columns if column.index == index]
        if len(holds) > 1:
            findings.fault(f'column "{header[index]}"', f"declared as {' and '.join(holds)}", "one of them")
    seen = {column.variable for column in columns} | set(declared)
    # A column without a unit was found too, and refused for that.
    seen |= {known for name in header if (known := _recognise(name)[0])}
    for variable in _REQUIRED:
        if variable not in seen:
            listed = ", ".join(f'"{text}"' for text in header)
            example = "date" if variable == "date" else f"{variable}_c"
            findings.fault(f"columns {listed}", f"none is {variable}", f'a column such as "{example}"')
