"""JSON Schema of the input files, drawn from the models that read them."""

from __future__ import annotations

from typing import Any, Final

from optimiser.files.base import FileModel
from optimiser.files.bike_file import BikeFile
from optimiser.files.damper_file import DamperFile
from optimiser.files.dyno.machine_file import DynoMachineFile
from optimiser.files.entry.form_file import FormFile
from optimiser.files.job_file import JobFile
from optimiser.files.ride_log.logger_file import LoggerFile
from optimiser.files.rider_file import RiderFile
from optimiser.files.rides_file import RidesFile
from optimiser.files.shelf_line import ShelfLine
from optimiser.files.symptoms_file import SymptomsFile

MODELS: Final[dict[str, type[FileModel]]] = {
    "job": JobFile,
    "damper": DamperFile,
    "stock": ShelfLine,
    "bike": BikeFile,
    "rider": RiderFile,
    "symptoms": SymptomsFile,
    "rides": RidesFile,
    "kind": FormFile,
    "dyno-machine": DynoMachineFile,
    "logger": LoggerFile,
}


def schema_of(kind: str) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of one kind of input file."""
    schema = MODELS[kind].model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}
