"""Other programs read the plan by its documented keys."""

import pytest
from pydantic import BaseModel

from optimiser.documents.common import ChangesDocument, CountedShim, EffortDocument, FindingDocument
from optimiser.documents.effort_step import EffortBandDocument, EffortStepDocument
from optimiser.documents.folded import FoldedDocument
from optimiser.documents.plan import (
    BandDocument,
    CandidateDocument,
    FeltDocument,
    PlanDocument,
)
from optimiser.documents.sure import (
    BandSpreadDocument,
    CarrierDocument,
    ConfidenceDocument,
    LeastSureDocument,
    SureDocument,
)
from tests.helpers.paths import ROOT

PAGE = (ROOT / "docs" / "reference" / "json-output.md").read_text(encoding="utf-8")
MODELS = (
    PlanDocument,
    CandidateDocument,
    FoldedDocument,
    ChangesDocument,
    CountedShim,
    BandDocument,
    FindingDocument,
    FeltDocument,
    EffortDocument,
    EffortStepDocument,
    EffortBandDocument,
    SureDocument,
    BandSpreadDocument,
    LeastSureDocument,
    CarrierDocument,
    ConfidenceDocument,
)


@pytest.mark.parametrize("model", MODELS)
def test_every_key_of_the_plan_is_on_its_page(model: type[BaseModel]) -> None:
    missing = [key for key in model.model_fields if f"`{key}`" not in PAGE]
    assert missing == []
