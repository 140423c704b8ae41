"""The stations room: runs along the boat divided, frames measured by a batten, blanks asked for."""

from yieldplan.stations.page import pdf_bytes
from yieldplan.stations.reading import read_survey
from yieldplan.stations.tape import longest_over, tape_list
from yieldplan.stations.writing import NAMES, check_copies, copied_words, copies, report, tape_csv, tape_text

__all__ = [
    "NAMES",
    "check_copies",
    "copied_words",
    "copies",
    "longest_over",
    "pdf_bytes",
    "read_survey",
    "report",
    "tape_csv",
    "tape_list",
    "tape_text",
]
