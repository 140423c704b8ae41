"""The document that the pages are set in: what heads them, what stands at their foot, where new ones begin."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any

from reportlab import rl_config
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    ActionFlowable,
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    PageBreak,
    PageTemplate,
)

from yieldplan.pages.paper import FOOT, LEADING, MARGIN, SIZES, font, height_of, para, rule

if TYPE_CHECKING:
    from yieldplan.pages.paper import Paper

BASE = (LEADING - 1) * FOOT
"""How high the foot's base line lies, as in a paragraph."""

COUNT_ROOM = 110.0
"""Room at the foot for ``page n of m``."""


class Document(BaseDocTemplate):  # type: ignore[misc] # the page maker has no types
    """Collects in ``story`` what is to be printed; ``room`` is the height of a page below its head."""

    def __init__(self, paper: Paper, title: str, foot: str) -> None:
        self.out, self.foot = BytesIO(), para(foot, FOOT, after=0.0)
        wide, high = SIZES[paper]
        self.measure = wide - 2 * MARGIN
        self.low = MARGIN + height_of([self.foot], self.measure - COUNT_ROOM) + 6.0
        self.whole = self.room = high - MARGIN - self.low
        frame = Frame(MARGIN, self.low, self.measure, self.whole, 0, 0, 0, 0, id="page")
        page = PageTemplate("page", [frame], onPage=_draw_foot)
        names = {"title": title, "creator": "yieldplan"}
        super().__init__(self.out, pagesize=SIZES[paper], pageTemplates=[page], invariant=1, **names)
        self.head: tuple[Flowable, ...] = ()
        self.story: list[Flowable] = []

    def section(self, *head: Flowable) -> None:
        """Begin a page, and set what heads it and those that follow it."""
        self.head, self.room = head, self.whole - height_of(head, self.measure)
        self.running()
        self.story.append(PageBreak())

    def part(self, least: float) -> None:
        """Begin a part below a line to cut along, on this page if so much of it is left (points), else on the next."""
        self.head = ()
        self.running()
        self.story += [CondPageBreak(least), rule(1.2, 4.5, 3.0, dashed=True)]

    def running(self, *flowables: Flowable) -> None:
        """Set what stands below the head of the pages that begin from here on."""
        self.story.append(ActionFlowable(("running", (*self.head, *flowables))))

    def handle_running(self, flowables: tuple[Flowable, ...]) -> None:
        """Do what ``running`` asks for, when the pages are set."""
        self._pageTopFlowables = flowables

    def drawn(self) -> bytes:
        """Return the pages as a pdf file."""
        rl_config.useA85 = 0  # streams as they are, not spelt out in letters: a fifth smaller, and quicker
        self.build(self.story, canvasmaker=_Numbered)
        return self.out.getvalue()


def _draw_foot(canvas: Canvas, document: Document) -> None:
    canvas.setLineWidth(0.5)
    canvas.line(MARGIN, document.low - 4.0, MARGIN + document.measure, document.low - 4.0)
    document.foot.drawOn(canvas, MARGIN, MARGIN)


class _Numbered(Canvas):  # type: ignore[misc] # the page maker has no types
    """Keeps the pages until all are set, so that each can say how many there are."""

    def showPage(self) -> None:  # noqa: N802 - the page maker's name
        """Keep the page that is ready."""
        self.__dict__.setdefault("kept", []).append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write the pages, each with its number."""
        pages: list[dict[str, Any]] = self.kept
        for number, page in enumerate(pages, 1):
            self.__dict__.update(page)
            self.setFont(font(), FOOT)
            self.drawRightString(self._pagesize[0] - MARGIN, MARGIN + BASE, f"page {number} of {len(pages)}")
            super().showPage()
        super().save()
