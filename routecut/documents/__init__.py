"""Documents: the plan as people and programs read it.

Stage      after planning; a plan in, text out; nothing is routed, measured or sized here
Units      m in; the job's unit on paper, always printed with the figure
Leaves     writing files, and drawing pictures: they come in as PNG bytes
"""

from routecut.documents.built import as_fitted
from routecut.documents.cautions import placed_cautions
from routecut.documents.cut_list import cut_list_csv
from routecut.documents.drill_json import study_json
from routecut.documents.drill_moved import moved_text
from routecut.documents.drill_schedule import drill_schedule_csv
from routecut.documents.drill_text import study_text
from routecut.documents.labels import label_files
from routecut.documents.order_list import order_json, order_list_csv, order_list_xlsx, order_text
from routecut.documents.pack import pack_html
from routecut.documents.pack_harness import harness_svg
from routecut.documents.picks import picks_toml
from routecut.documents.places_text import places_json, places_text
from routecut.documents.plan_json import plan_json
from routecut.documents.record_text import record_json, record_text
from routecut.documents.scene_glb import scene_glb
from routecut.documents.service_json import answers_json, names_json
from routecut.documents.service_text import names_text, service_text
from routecut.documents.summary import summary_text
from routecut.documents.survey_page import is_survey_page, survey_html
from routecut.documents.tables_xlsx import tables_xlsx
from routecut.documents.template import template_files

__all__ = [
    "answers_json",
    "as_fitted",
    "cut_list_csv",
    "drill_schedule_csv",
    "harness_svg",
    "is_survey_page",
    "label_files",
    "moved_text",
    "names_json",
    "names_text",
    "order_json",
    "order_list_csv",
    "order_list_xlsx",
    "order_text",
    "pack_html",
    "picks_toml",
    "placed_cautions",
    "places_json",
    "places_text",
    "plan_json",
    "record_json",
    "record_text",
    "scene_glb",
    "service_text",
    "study_json",
    "study_text",
    "summary_text",
    "survey_html",
    "tables_xlsx",
    "template_files",
]
