"""Service: how everything is got at again, what comes off for it, and what else that touches.

Stage      after the order and the drill study of a plan; answers questions of a kept plan
Units      m, minutes
Safe side  trim of unknown time counts as an hour; what no hand was seen to reach is marked
"""

from routecut.service.answer import answer, names
from routecut.service.body_work import body_work
from routecut.service.check import service_findings
from routecut.service.fault import fault_answer, fault_searches
from routecut.service.for_later import later
from routecut.service.one_more import all_ways, more_answer, one_more, spare_holes
from routecut.service.recorded import with_joints
from routecut.service.study import service_study

__all__ = [
    "all_ways",
    "answer",
    "body_work",
    "fault_answer",
    "fault_searches",
    "later",
    "more_answer",
    "names",
    "one_more",
    "service_findings",
    "service_study",
    "spare_holes",
    "with_joints",
]
