"""The plan as steps at machines, and its renderings side by side: text, pages, workbook."""
