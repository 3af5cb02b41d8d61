"""The customer folder: every paper that a job needs, written from its study.

`folder(study, findings, sheets, ...)` gives the papers as data (`document.py`); `typeset`, `page` and `workbook` write
them as PDF, as a page for a browser and as a spreadsheet.
"""

from wiregen.papers.folder import folder
from wiregen.papers.office import Office, OfficeMistake, office
from wiregen.papers.page import page
from wiregen.papers.texts import texts
from wiregen.papers.typeset import typeset
from wiregen.papers.workbook import workbook

__all__ = ["Office", "OfficeMistake", "folder", "office", "page", "texts", "typeset", "workbook"]
