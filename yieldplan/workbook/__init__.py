"""The workbook room: a workbook or a csv folder in, the blank workbook out, problems with their cells."""

from yieldplan.workbook.job import read
from yieldplan.workbook.source import fingerprint

__all__ = ["fingerprint", "read"]
