"""The pile's room: what to buy, how much more it gives, which cards still hold, and how a batch leaves it."""

from yieldplan.pile.ledger import csv_bytes as ledger_csv
from yieldplan.pile.ledger import ledger_row, read_ledger
from yieldplan.pile.ledger_report import pdf_bytes as ledger_pdf
from yieldplan.pile.ledger_report import report as ledger_report
from yieldplan.pile.settle import next_input
from yieldplan.pile.settlement import Settlement, said, settlement
from yieldplan.pile.writing import check_new, check_out, write_settled

__all__ = [
    "Settlement",
    "check_new",
    "check_out",
    "ledger_csv",
    "ledger_pdf",
    "ledger_report",
    "ledger_row",
    "next_input",
    "read_ledger",
    "said",
    "settlement",
    "write_settled",
]
