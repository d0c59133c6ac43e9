"""A plan's document, read back."""

from __future__ import annotations

from pydantic import ValidationError

from optimiser.documents.plan import PlanDocument
from optimiser.errors import InputError


def read_plan(text: str, *, name: str) -> PlanDocument:
    """Read what ``shimwright plan --json`` wrote; ``name`` stands for the file in messages.

    Raises
    ------
    InputError
        Naming the key that is not as it should be.
    """
    try:
        return PlanDocument.model_validate_json(text)
    except ValidationError as error:
        fault = error.errors()[0]
        place = ".".join(str(part) for part in fault["loc"]) or "the document"
        raise InputError(
            f"{name}: {place}: {fault['msg']}; expected what 'shimwright plan JOB --json' writes. "
            "Write it again with this shimwright."
        ) from None
