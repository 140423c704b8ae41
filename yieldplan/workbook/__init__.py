"""The workbook room: a workbook or a csv folder in, the blank workbook out, problems with their cells."""

from yieldplan.workbook.job import read
from yieldplan.workbook.source import fingerprint
from yieldplan.workbook.tally import write_tally

__all__ = ["fingerprint", "read", "write_tally"]
