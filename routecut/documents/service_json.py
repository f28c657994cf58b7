"""How everything is got at again, for `plan.json` and for programs that ask.

Units      m, minutes
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any

from routecut.documents.drill_json import plain_json
from routecut.documents.record_text import line_json
from routecut.documents.service_words import recorded
from routecut.model.plan import Plan
from routecut.model.record import NO_RECORD, Record
from routecut.model.service import Answer, Asked


def service_json(plan: Plan) -> dict[str, Any] | None:
    """The service study; keys are the fields of `routecut.model.service.Service`."""
    if plan.service is None:
        return None
    found: dict[str, Any] = plain_json(plan.service)
    return found


def names_json(known: Mapping[Asked, Sequence[str]]) -> str:
    """What can be asked about, by kind."""
    found = {str(asked): list(names) for asked, names in known.items()}
    return json.dumps(found, ensure_ascii=False, indent=1) + "\n"


def answers_json(answers: Sequence[Answer], record: Record = NO_RECORD) -> str:
    """Answers as JSON text, one trailing newline; keys are the fields of `routecut.model.service.Answer`.

    Each has under ``recorded`` what stands in the as-built record about it.
    """
    found = {
        "answers": [
            plain_json(answer) | {"recorded": [line_json(line) for line in recorded(answer, record)]}
            for answer in answers
        ]
    }
    return json.dumps(found, ensure_ascii=False, allow_nan=False, indent=1) + "\n"
