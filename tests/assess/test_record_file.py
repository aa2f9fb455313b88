"""The CSV reader: what is a reading, what is a rejected row, and which files cannot be judged."""

from pathlib import Path
from zoneinfo import ZoneInfo

import pytest

from holdwatch.clock import to_iso
from holdwatch.errors import RecordFileError
from holdwatch.recordfile import RecordFile, find_timezone, read_record_file

DENVER = ZoneInfo("America/Denver")


def _read(tmp_path: Path, text: str | bytes, zone: ZoneInfo | None = None) -> RecordFile:
    path = tmp_path / "readings.csv"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return read_record_file(path, zone)


def _rejected(record: RecordFile) -> list[tuple[int, str]]:
    return [(row.row, row.reason) for row in record.rejected]


def test_record_file_reads_celsius_and_fahrenheit(tmp_path: Path) -> None:
    """Both units are read; other columns, a byte-order mark and the order of rows and columns do not matter."""
    celsius = _read(tmp_path, "time,temperature_c\n2026-03-01T10:00:00Z,57.2222222222\n2026-03-01T09:00:00Z,60\n")
    assert [to_iso(at) for at in celsius.series.at_ms.tolist()] == ["2026-03-01T09:00:00Z", "2026-03-01T10:00:00Z"]
    assert celsius.series.celsius.tolist() == [60.0, 57.2222222222]
    text = "\ufeffnote, Temperature_F ,TIME\r\nx,135.0,2026-03-01T03:00:00-07:00\r\n"
    fahrenheit = _read(tmp_path, text)
    assert to_iso(int(fahrenheit.series.at_ms[0])) == "2026-03-01T10:00:00Z"
    assert fahrenheit.series.celsius[0] == pytest.approx((135 - 32) / 1.8, abs=1e-12)


def test_record_file_rejects_rows_with_their_line(tmp_path: Path) -> None:
    """Every row that holds no reading is named by its line, the header being 1; blank lines count as lines."""
    record = _read(
        tmp_path,
        "time,temperature_c\n"
        "2026-03-01T10:00:00Z,err\n"
        "2026-03-01T10:01:00Z,\n"
        "\n"
        "2026-03-01T10:02:00Z,nan\n"
        ",4\n"
        "noon,4\n"
        '2026-03-01T10:03:00Z,"4,5"\n'
        "2026-03-01T10:04:00,4\n"
        "2026-03-01T10:05:00Z,-400\n"
        "2026-03-01T10:06:00Z,1e999\n"
        "2026-03-01T10:07:00Z\n"
        "2026-03-01T10:08:00Z,1_0\n"
        "2026-03-01T10:09:00Z,4.5\n"
        "2026-03-01,4\n",
    )
    assert len(record.series) == 1
    assert _rejected(record) == [
        (2, "not a number: 'err'"),
        (3, "no temperature"),
        (5, "not a number: 'nan'"),
        (6, "no time"),
        (7, "not a time: 'noon'"),
        (8, "not a number: '4,5'"),
        (9, "time '2026-03-01T10:04:00' has no offset, and no --timezone was given"),
        (10, "not a possible temperature: '-400'"),
        (11, "not a possible temperature: '1e999'"),
        (12, "no temperature"),
        (13, "not a number: '1_0'"),
        (15, "not a time: '2026-03-01'"),
    ]


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("time,temperature_f", "2026-03-01T10:00:00Z,41,5"),
        ("time,temperature_f,note", "2026-03-01T10:00:00Z,41,5,"),
        ("time,temperature_f,note", "2026-03-01T10:00:00Z,41,5,door open"),
    ],
)
def test_record_file_decimal_comma_is_not_cut_to_a_whole_number(tmp_path: Path, header: str, row: str) -> None:
    """41,5 without quotes is two cells: it is rejected, never read as 41."""
    record = _read(tmp_path, f"{header}\n{row}\n2026-03-01T10:01:00Z,40\n")
    assert len(record.series) == 1
    assert [line for line, _ in _rejected(record)] == [2]
    assert "write decimals with a point" in record.rejected[0].reason


def test_record_file_bears_empty_cells_beyond_the_header(tmp_path: Path) -> None:
    """Programs end rows with commas: nothing stands there, nothing is lost."""
    assert len(_read(tmp_path, "time,temperature_f\n2026-03-01T10:00:00Z,41,\n2026-03-01T10:01:00Z,41,,\n").series) == 2


@pytest.mark.parametrize("tail", ["", '\n2026-03-01T10:09:00Z,"40'])
def test_record_file_open_quote_does_not_swallow_rows(tmp_path: Path, tail: str) -> None:
    """A quote that is never closed would hide the rows after it, warm ones too: the file is refused."""
    text = f'time,temperature_f\n2026-03-01T10:00:00Z,40\n2026-03-01T10:01:00Z,"40\n2026-03-01T10:02:00Z,60{tail}\n'
    with pytest.raises(RecordFileError, match=r"line 3 is not CSV .* stray quotation mark"):
        _read(tmp_path, text)


@pytest.mark.parametrize(("value", "kept"), [("-60", True), ("-60.1", False), ("300", True), ("300.1", False)])
def test_record_file_hand_reading_that_food_cannot_have_is_rejected(tmp_path: Path, value: str, *, kept: bool) -> None:
    """No sieve looks at hand readings: what is no temperature of food is rejected with its line."""
    path = tmp_path / "hand.csv"
    path.write_text(f"time,temperature_c\n2026-03-01T10:00:00Z,4\n2026-03-01T10:01:00Z,{value}\n", encoding="utf-8")
    assert [row.row for row in read_record_file(path, by_hand=True).rejected] == ([] if kept else [3])
    assert not read_record_file(path).rejected  # of a probe the sieve sets it aside


@pytest.mark.parametrize("time", ["9999-12-31T23:00:00Z", "3000-01-01T00:00:00Z", "1899-12-31T00:00:00Z"])
def test_record_file_time_of_no_record_is_rejected(tmp_path: Path, time: str) -> None:
    """A year that leaves no room for what falls due after it is no time of a record."""
    record = _read(tmp_path, f"time,temperature_c\n2026-03-01T10:00:00Z,4\n{time},4\n")
    assert _rejected(record) == [(3, f"not a time of a record: {time!r}")]


def test_record_file_second_header_in_another_unit_is_refused(tmp_path: Path) -> None:
    """Two files put together may change the unit half-way: 38 °C is not 38 °F. The same header again is a rejected row."""
    rows = "2026-03-01T10:00:00Z,40\n"
    with pytest.raises(RecordFileError, match="line 3 is a second header"):
        _read(tmp_path, f"time,temperature_f\n{rows}time,temperature_c\n2026-03-01T10:01:00Z,38\n")
    again = _read(tmp_path, f"time,temperature_f\n{rows}time,temperature_f\n2026-03-01T10:01:00Z,38\n")
    assert len(again.series) == 2
    assert _rejected(again) == [(3, "not a time: 'time'")]


def test_record_file_counts_lines_of_quoted_cells(tmp_path: Path) -> None:
    """A cell over two lines does not shift the line numbers of the rows after it."""
    record = _read(tmp_path, 'time,temperature_c,note\n2026-03-01T10:00:00Z,4,"two\nlines"\n2026-03-01T10:01:00Z,x,\n')
    assert _rejected(record) == [(4, "not a number: 'x'")]


def test_record_file_places_naive_times_in_the_zone(tmp_path: Path) -> None:
    """Times without an offset are the zone's; what does not exist or is ambiguous there is rejected."""
    record = _read(
        tmp_path,
        "time,temperature_c\n"
        "2026-03-08T01:59:59,4\n"
        "2026-03-08T02:30:00,4\n"
        "2026-03-08T03:00:00,4\n"
        "2026-11-01T00:59:59,4\n"
        "2026-11-01T01:30:00,4\n"
        "2026-11-01T01:30:00-06:00,4\n"
        "2026-11-01T02:00:00,4\n",
        DENVER,
    )
    assert [to_iso(at) for at in record.series.at_ms.tolist()] == [
        "2026-03-08T08:59:59Z",
        "2026-03-08T09:00:00Z",
        "2026-11-01T06:59:59Z",
        "2026-11-01T07:30:00Z",
        "2026-11-01T09:00:00Z",
    ]
    assert _rejected(record) == [
        (3, "time '2026-03-08T02:30:00' does not exist in America/Denver: the clocks were put forward"),
        (6, "time '2026-11-01T01:30:00' is ambiguous in America/Denver: the clocks were put back"),
    ]


def test_record_file_drops_exact_doubles_and_keeps_contested_values(tmp_path: Path) -> None:
    """The same reading twice is one; two values at one instant are both kept."""
    record = _read(
        tmp_path,
        "time,temperature_c\n2026-03-01T10:00:00Z,4\n2026-03-01T03:00:00-07:00,4.0\n2026-03-01T10:00:00Z,5\n",
    )
    assert record.series.celsius.tolist() == [4.0, 5.0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "the file is empty"),
        ("time,temperature\n2026-03-01T10:00:00Z,4\n", "the header needs one column time and one of temperature_c"),
        ("temperature_c\n4\n", "the header needs one column time"),
        ("time,temperature_c,temperature_f\n", "the header needs one column time"),
        ("time;temperature_c\n2026-03-01T10:00:00Z;4\n", "the header needs one column time"),
        ("time,temperature_c\n", "no row can be used (0 rejected)"),
        ("time,temperature_c\nx,4\n", "no row can be used (1 rejected; line 2: not a time: 'x')"),
        (b"\xff\xfet\x00i\x00", "not UTF-8 text"),
    ],
)
def test_record_file_that_cannot_be_judged_says_why(tmp_path: Path, text: str | bytes, said: str) -> None:
    """A file without one usable row is refused in one line."""
    with pytest.raises(RecordFileError) as caught:
        _read(tmp_path, text)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_record_file_that_is_not_there_says_so(tmp_path: Path) -> None:
    """A missing file and a folder are refused in one line."""
    with pytest.raises(RecordFileError, match="No such file"):
        read_record_file(tmp_path / "none.csv")
    with pytest.raises(RecordFileError, match="directory"):
        read_record_file(tmp_path)


@pytest.mark.parametrize("name", ["Atlantis/Centre", "", "../etc/passwd", "America"])
def test_record_file_unknown_zone_is_refused(name: str) -> None:
    """A zone that does not exist is refused with an example."""
    with pytest.raises(RecordFileError, match="America/Denver"):
        find_timezone(name)
