"""Front door of the room: a study and its findings in, all papers of the folder out."""

from __future__ import annotations

from collections.abc import Sequence

from wiregen.circuit.study import Study
from wiregen.diagnosis.table import table
from wiregen.findings import Finding
from wiregen.papers.commissioning import commissioning
from wiregen.papers.cover import cover, title
from wiregen.papers.document import Folder, Paper, Picture
from wiregen.papers.energy_page import energy_page
from wiregen.papers.fault_finding import fault_finding
from wiregen.papers.fuse_card import fuse_card
from wiregen.papers.handover import handover
from wiregen.papers.labels import label_pages
from wiregen.papers.office import Office
from wiregen.papers.parts_list import parts_list
from wiregen.papers.schedule import schedule
from wiregen.papers.test_points import test_points
from wiregen.papers.texts import texts as texts_of


def folder(
    study: Study,
    findings: Sequence[Finding],
    sheets: Sequence[str],
    *,
    rules: int,
    office: Office,
    language: str = "en",
) -> Folder:
    """All papers of a job. `sheets` are the drawing's sheets as SVG; `rules` is how many rules were run."""
    texts = texts_of(language)
    drawings = tuple(
        Picture(svg, texts.say("drawing.description", sheet=at, sheets=len(sheets)), whole_page=True)
        for at, svg in enumerate(sheets, start=1)
    )
    papers = (
        cover(study, findings, rules, office, texts),
        Paper("drawing", texts.say("drawing.title"), drawings),
        schedule(study, office, texts),
        parts_list(study, office, texts),
        fuse_card(study, texts),
        label_pages(study, office, texts),
        commissioning(study, texts),
        fault_finding(table(study), texts),
        test_points(study, texts),
        handover(study, texts),
        energy_page(study, texts),
    )
    job = study.job
    customer = job.facts["customer"].word if "customer" in job.facts else ""
    last = job.revisions[-1] if job.revisions else None
    revision = texts.say("folder.revision", name=last.name, date=last.date) if last else ""
    running = " · ".join(word for word in (office.company, title(study), customer, revision) if word)
    subtitle = " · ".join(word for word in (customer, revision) if word)
    return Folder(title(study), subtitle, running, office.paper, language, papers)
