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
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
)

from yieldplan.order.paper import MARGIN, SIZES, SMALL, height_of, para

if TYPE_CHECKING:
    from collections.abc import Sequence

    from reportlab.platypus import Flowable

    from yieldplan.order.paper import Paper

COUNT_ROOM = 110.0
"""Room at the foot for ``page n of m``."""


class Document:
    """Collects what is to be printed, section by section."""

    def __init__(self, paper: Paper, title: str, foot: str) -> None:
        self.title = title
        self.size = SIZES[paper]
        self.width = self.size[0] - 2 * MARGIN
        self._foot = para(foot, SMALL, after=0.0)
        self._low = MARGIN + height_of([self._foot], self.width - COUNT_ROOM) + 8.0
        self._story: list[Flowable] = []
        self._templates: list[PageTemplate] = []
        self.room = 0.0

    def section(self, head: Sequence[Flowable] = ()) -> None:
        """Begin a page, and set what heads it and those that follow it."""
        name, high = str(len(self._templates)), height_of(head, self.width)
        self.room = self.size[1] - MARGIN - self._low - high
        nothing = dict.fromkeys(("leftPadding", "rightPadding", "topPadding", "bottomPadding"), 0.0)
        top = Frame(MARGIN, self._low + self.room, self.width, high + 1, **nothing)
        body = Frame(MARGIN, self._low, self.width, self.room, **nothing)

        def draw(canvas: Canvas, _: object) -> None:
            top._reset()
            top.addFromList([*head], canvas)
            canvas.setLineWidth(0.5)
            canvas.line(MARGIN, self._low - 4.0, self.size[0] - MARGIN, self._low - 4.0)
            self._foot.wrapOn(canvas, self.width - COUNT_ROOM, self._low)
            self._foot.drawOn(canvas, MARGIN, MARGIN)

        self._templates.append(PageTemplate(name, [body], onPage=draw))
        if len(self._templates) > 1:
            self.running()
            self._story += [NextPageTemplate(name), PageBreak()]

    def running(self, *flowables: Flowable) -> None:
        """Set what stands below the head of the pages that begin from here on."""
        self._story.append(ActionFlowable(("running", flowables)))

    def put(self, *flowables: Flowable) -> None:
        """Add what may go over a page's end."""
        self._story += flowables

    def need(self, height: float) -> None:
        """Begin a page unless so much room is left on this one."""
        self._story.append(CondPageBreak(height))

    def drawn(self) -> bytes:
        """Return the pages as a pdf file."""
        rl_config.useA85 = 0  # streams as they are, not spelt out in letters: a fifth smaller, and quicker
        out = BytesIO()
        template = _Template(
            out,
            pagesize=self.size,
            pageTemplates=self._templates,
            title=self.title,
            creator="yieldplan",
            invariant=1,
            pageCompression=1,
        )
        template.build(self._story, canvasmaker=_Numbered)
        return out.getvalue()


class _Template(BaseDocTemplate):  # type: ignore[misc] # the page maker has no types
    def handle_running(self, flowables: Sequence[Flowable]) -> None:
        """Do what ``Document.running`` asks for."""
        self._pageTopFlowables = flowables


class _Numbered(Canvas):  # type: ignore[misc] # the page maker has no types
    """Keeps the pages until all are set, so that each can say how many there are."""

    def __init__(self, *args: Any, **words: Any) -> None:
        super().__init__(*args, **words)
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802 - the page maker's name
        """Keep the page that is ready."""
        self._kept.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write the pages, each with its number."""
        width = self._pagesize[0] - 2 * MARGIN
        for number, page in enumerate(self._kept, 1):
            self.__dict__.update(page)
            count = para(f"page {number} of {len(self._kept)}", SMALL, right=True)
            count.wrapOn(self, width, MARGIN)
            count.drawOn(self, MARGIN, MARGIN)
            super().showPage()
        super().save()
