"""The whole plant on one page: what limits the rate, then every stream by section as a table."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from canewright.accounts.plant_tables import (
    PlantTables,
    capacities_written,
    is_nearly_full,
    is_over,
    plant_tables,
    streams_written,
)
from canewright.plant.showing import UNITS
from canewright.web.desk import Desk, ShownDay


def plant_tables_page(desk: Desk, request: Request) -> Response:
    """Capacities, the fullest first, and the streams."""
    shown, tables = _tables_of(desk, request)
    return desk.page(
        "plant_tables.html", day=shown.day, shown=shown, tables=tables, units=UNITS, is_over=is_over,
        is_nearly_full=is_nearly_full,
    )  # fmt: skip


def plant_tables_json(desk: Desk, request: Request) -> Response:
    """The same tables as data."""
    shown, tables = _tables_of(desk, request)
    streams = [
        {
            "section": line.section, "station": line.station, "stream": line.stream, "to": line.to,
            **{column: None if cell is None else vars(cell) for column, cell in line.cells.items()},
        }
        for lines in tables.streams.values()
        for line in lines
    ]  # fmt: skip
    capacities = [{**vars(c), "share": c.share} for c in tables.capacities]
    return JSONResponse(
        {"day": shown.day.isoformat(), "status": shown.status, "units": UNITS, "streams": streams,
         "capacities": capacities, "sucrose": tables.sucrose.to_json()}
    )  # fmt: skip


def streams_csv(desk: Desk, request: Request) -> Response:
    """The streams as a file."""
    shown, tables = _tables_of(desk, request)
    return _file(streams_written(tables), f"streams {shown.day}.csv")


def capacities_csv(desk: Desk, request: Request) -> Response:
    """The capacities as a file."""
    shown, tables = _tables_of(desk, request)
    return _file(capacities_written(tables), f"capacities {shown.day}.csv")


def _tables_of(desk: Desk, request: Request) -> tuple[ShownDay, PlantTables]:
    shown = desk.shown(desk.day(request.path_params["day"]), request.query_params.get("version"))
    plant, state, _ = desk.state(shown)
    return shown, plant_tables(plant, state)


def _file(text: str, name: str) -> Response:
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type="text/csv; charset=utf-8", headers=headers)
