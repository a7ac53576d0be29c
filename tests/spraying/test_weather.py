from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.reasoning.yaml_text import BadInput
from triage.spraying.readings import speed_kmh, temperature_c
from triage.spraying.weather import read_weather

EXAMPLES = Path(__file__).parents[2] / "examples" / "weather"

#: Invented lines in the documented layout (ghcn_by_station).
GHCN = [
    "XX000000001,20240501,TMAX,217,,,S,",
    "XX000000001,20240501,TMIN,83,,,S,",
    "XX000000001,20240501,PRCP,0,T,,S,0700",
    "XX000000001,20240502,TMAX,-39,,X,S,",
]


def written(folder: Path, *lines: str) -> Path:
    path = folder / "weather.csv"
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    return path


def told(folder: Path, *lines: str, units: str | None = None) -> str:
    with pytest.raises(BadInput) as caught:
        read_weather(written(folder, *lines), units)  # type: ignore[arg-type]
    return str(caught.value)


def test_ghcn_tenths_trace_and_failed_check(tmp_path: Path) -> None:
    weather = read_weather(written(tmp_path, *GHCN))
    first, second = weather.days
    assert (first.high, first.low, first.rain, first.trace) == (21.7, 8.3, 0.0, True)
    assert second.high is None
    assert "check X" in second.notes[0]


def test_ghcn_with_a_header_wind_and_humidity(tmp_path: Path) -> None:
    weather = read_weather(
        written(
            tmp_path,
            "ID,DATE,ELEMENT,DATA_VALUE,M_FLAG,Q_FLAG,S_FLAG,OBS_TIME",
            "XX000000001,20240502,AWND,25,,,S,",
            "XX000000001,20240501,RHAV,71,,,S,",
            "XX000000001,20240501,SNWD,0,,,S,",
        )
    )
    assert [day.on.day for day in weather.days] == [1, 2]
    assert weather.days[0].humidity == 71
    assert weather.days[1].wind == 9.0  # 2.5 m/s


def test_ghcn_missing_multiday_and_crossed(tmp_path: Path) -> None:
    weather = read_weather(
        written(
            tmp_path,
            "XX000000001,20240501,TMAX,-9999,,,S,",
            "XX000000001,20240501,PRCP,300,A,,S,",
            "XX000000001,20240502,TMAX,100,,,S,",
            "XX000000001,20240502,TMIN,200,,,S,",
        )
    )
    first, second = weather.days
    assert (first.high, first.rain) == (None, None)
    assert (second.low, second.high) == (None, None)
    assert "above highest" in second.notes[0]


@pytest.mark.parametrize(
    ("line", "wrong"),
    [
        ("XX000000001,20240599,TMAX,200,,,S,", "line 5, date"),
        ("XX000000001,20240503,TMAX,warm,,,S,", "line 5, TMAX"),
        ("XX000000001,20240503", "line 5: has fewer than four fields"),
        ("YY000000002,20240503,TMAX,200,,,S,", "line 5, station"),
        ("XX000000001,20240501,TMAX,200,,,S,", "line 5, TMAX: 2024-05-01 stands twice"),
    ],
)
def test_ghcn_slips_name_the_row(tmp_path: Path, line: str, wrong: str) -> None:
    assert wrong in told(tmp_path, *GHCN, line)


def test_plain_file_in_inches_and_fahrenheit(tmp_path: Path) -> None:
    weather = read_weather(
        written(tmp_path, "# a remark", "Date,Tmin (F),Tmax_F,Rain in,Wind mph", "2026-07-04,50,86,0.5,10")
    )
    [day] = weather.days
    assert (day.low, day.high, day.rain) == (10, 30, 12.7)
    assert day.wind == pytest.approx(16.0934)


def test_units_may_be_told_beside_the_file(tmp_path: Path) -> None:
    path = written(tmp_path, "date,tmin,tmax,rain", "2026-07-04,50,86,1")
    day = read_weather(path, "us").days[0]
    assert (day.low, day.high, day.rain) == (10, 30, 25.4)
    day = read_weather(written(tmp_path, "date,tmin,tmax,rain", "2026-07-04,5,8,1"), "metric").days[0]
    assert (day.low, day.high, day.rain) == (5, 8, 1)


def test_semicolons_decimal_commas_blanks_and_a_mark_at_the_start(tmp_path: Path) -> None:
    weather = read_weather(
        written(tmp_path, "\ufeffdate;tmin_c;tmax_c;rain_mm", "2026-07-04;12,5;25;NA", "2026-07-03;;24;T")
    )
    earlier, later = weather.days
    assert (later.low, later.high, later.rain) == (12.5, 25, None)
    assert (earlier.low, earlier.rain, earlier.trace) == (None, 0, True)


HEAD = "date,tmin_c,tmax_c,rain_mm"


@pytest.mark.parametrize(
    ("lines", "wrong"),
    [
        ((HEAD, "2026-07-04,10,20,0", "04/07/2026,10,20,0"), "line 3, date: “04/07/2026” is not a date"),
        ((HEAD, "2026-07-04,10,20,0", "2026-07-04,10,20,0"), "line 3, date: 2026-07-04 stands twice"),
        ((HEAD, "2026-07-04,20,10,0"), "line 2, tmin: the lowest temperature is above the highest"),
        ((HEAD, "2026-07-04,10,85,0"), "line 2, high: 85 cannot be"),
        ((HEAD, "2026-07-04,10,20,-1"), "line 2, rain: -1 cannot be"),
        ((HEAD, "2026-07-04,ten,20,0"), "line 2, low: “ten” is not a number"),
        ((HEAD, "# remark", "2026-07-04,x,20,0"), "line 3, low"),
        (("date,tmin,tmax_c,rain_mm", "2026-07-04,10,20,0"), "line 1, tmin: does not say its unit"),
        (("date,tmin_k,tmax_c", "2026-07-04,10,20"), "line 1, tmin_k: the unit “k” is not known"),
        (("date,tmin_c", "2026-07-04,10"), "there is no column tmax"),
        (("date,tmin_c,tmin_f,tmax_c", "2026-07-04,10,50,20"), "line 1, tmin_f: stands twice"),
        ((HEAD,), "holds no days"),
        (("# only a remark",), "holds no weather"),
        (('"STATION","DATE","PRCP","PRCP_ATTRIBUTES"', '"X","2024-05-01","0",",,S"'), "one column an element"),
    ],
)
def test_plain_slips_name_the_row(tmp_path: Path, lines: tuple[str, ...], wrong: str) -> None:
    assert wrong in told(tmp_path, *lines)


def test_several_slips_are_told_at_once(tmp_path: Path) -> None:
    text = told(tmp_path, HEAD, "x,10,20,0", "2026-07-04,y,20,0")
    assert "line 2" in text
    assert "line 3" in text


def test_a_missing_file_and_a_binary_one(tmp_path: Path) -> None:
    with pytest.raises(BadInput, match="no such file"):
        read_weather(tmp_path / "none.csv")
    path = tmp_path / "x.csv"
    path.write_bytes(b"\xff\xfe\x00date")
    with pytest.raises(BadInput, match="not a text file"):
        read_weather(path)


def test_gaps_and_temperatures(tmp_path: Path) -> None:
    weather = read_weather(written(tmp_path, HEAD, "2026-07-01,10,20,0", "2026-07-04,11,21,0", "2026-07-05,,21,0"))
    assert weather.gaps == [(date(2026, 7, 2), date(2026, 7, 3))]
    assert weather.temperatures(date(2026, 7, 1)) == [(10, 20), None, None, (11, 21), None]


def test_the_two_examples_tell_the_same_days() -> None:
    plain = read_weather(EXAMPLES / "invented_garden.csv")
    station = read_weather(EXAMPLES / "invented_station_ghcn.csv")
    assert len(plain.days) == len(station.days) == 21
    for ours, theirs in zip(plain.days, station.days, strict=True):
        assert (ours.on, ours.low, ours.rain, ours.trace) == (theirs.on, theirs.low, theirs.rain, theirs.trace)
        assert theirs.high in (ours.high, None)


@given(st.lists(st.tuples(st.integers(-300, 250), st.integers(0, 200), st.integers(0, 900)), min_size=1, max_size=20))
def test_both_formats_agree_on_any_days(
    tmp_path_factory: pytest.TempPathFactory, days: list[tuple[int, int, int]]
) -> None:
    folder = tmp_path_factory.mktemp("pair")
    ghcn, plain = [], [HEAD]
    for n, (low, swing, rain) in enumerate(days):
        on = date.fromordinal(date(2026, 1, 1).toordinal() + n)
        values = {"TMIN": low, "TMAX": low + swing, "PRCP": rain}
        ghcn += [f"XX000000001,{on:%Y%m%d},{name},{value},,,S," for name, value in values.items()]
        plain.append(f"{on},{low / 10},{(low + swing) / 10},{rain / 10}")
    assert read_weather(written(folder, *ghcn)).days == read_weather(written(folder, *plain)).days


@pytest.mark.parametrize(
    ("text", "celsius"), [("25", 25), ("25C", 25), ("77F", 25), (" 77 °F ", 25), ("-4,5c", -4.5), ("32f", 0)]
)
def test_temperatures_as_people_write_them(text: str, celsius: float) -> None:
    assert temperature_c(text) == pytest.approx(celsius)


@pytest.mark.parametrize(("text", "kmh"), [("10", 10), ("13km/h", 13), ("8 mph", 12.874752), ("3 m/s", 10.8)])
def test_speeds_as_people_write_them(text: str, kmh: float) -> None:
    assert speed_kmh(text) == pytest.approx(kmh)


@pytest.mark.parametrize("text", ["", "warm", "25K", "--3", "99C"])
def test_no_temperatures(text: str) -> None:
    with pytest.raises(ValueError, match="write 25C or 77F"):
        temperature_c(text)


@pytest.mark.parametrize("text", ["", "breezy", "-3", "8 knots"])
def test_no_speeds(text: str) -> None:
    with pytest.raises(ValueError, match="write 13km/h or 8mph"):
        speed_kmh(text)
