"""Reading a drawn specification back."""

from typing import Any

from holdwatch.charts.layers import Chart


def layers(chart: Chart) -> list[dict[str, Any]]:
    """Return every layer of a chart."""
    found: list[dict[str, Any]] = chart["layer"]
    return found


def layers_named(chart: Chart, name: str) -> list[dict[str, Any]]:
    """Return the layers drawn from the rows of a name."""
    return [layer for layer in layers(chart) if layer["data"].get("name") == name]


def rows_named(chart: Chart, name: str) -> list[dict[str, Any]]:
    """Return the rows of a name; none where nothing is drawn from them."""
    found = layers_named(chart, name)
    rows: list[dict[str, Any]] = found[0]["data"]["values"] if found else []
    return rows


def words_in(chart: Chart) -> list[str]:
    """Return all text that stands on a chart: on paper that of its axes too."""
    written = chart.get("usermeta", {"words": []})["words"]
    return [word["words"] for word in written] + [
        row["words"] for layer in layers(chart) if layer["mark"]["type"] == "text" for row in layer["data"]["values"]
    ]


def axis_labels(chart: Chart, axis: str) -> dict[float, Any]:
    """Return the labels that we wrote for an axis, by the value they stand at."""
    settings = layers(chart)[0]["encoding"][axis]["axis"]
    listed = settings["labelExpr"].rpartition("[indexof(")[0]
    labels: list[Any] = eval(listed, {"__builtins__": {}})  # noqa: S307  a list that our own chart wrote
    return dict(zip(settings["values"], labels, strict=True))
