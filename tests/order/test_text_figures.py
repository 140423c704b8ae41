"""Every cut that the text asks for is the plan's, figure by figure and as often as the plan makes it; none is left out.

The text is read as a builder reads it: the cards on their own, and the machine lists on their own.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING

import pytest
from figures import figures_and_margins, read_figures
from random_plans import random_plan
from test_sawmill import DEMOS, demo

from yieldplan.measure import exact
from yieldplan.model import keepers, milled, sawn_rows, section
from yieldplan.model.pieces import counted
from yieldplan.model.work import crosscuts
from yieldplan.order import cutting_order, order_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from yieldplan.model import Job, OffcutPlan, Plan

Cuts = Counter[tuple[object, ...]]

FIG = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"
OFTEN = {"twice": 2} | {
    f"{word} times": count
    for count, word in enumerate(("three", "four", "five", "six", "seven", "eight", "nine", "ten"), 3)
}
TIMES = rf"(?:, ({'|'.join(OFTEN)}|\d+ times))?"


def often(words: str | None) -> int:
    """Return how often: ``three times``."""
    if not words:
        return 1
    return OFTEN.get(words) or int(words.split()[0])


def many(names: str) -> int:
    """Return how many sticks are named: ``P1-1 to 3``, ``sticks 1 and 2``, ``sticks 1 to 2, stick 3``."""
    if names.count("stick") > 1 or not names:
        return names.count("stick") or 1
    if found := re.search(r"(\d+) to (\d+)$", names):
        return int(found[2]) - int(found[1]) + 1
    return 1 + names.count(", ") + names.count(" and ")


def parts(text: str) -> tuple[str, str]:
    """Return the cards of a whole order's text, and its machine lists."""
    cards, _, rest = text.partition("BOARD BY BOARD\n")[2].partition("CROSSCUT SAW: ENDS OFF")
    return cards, f"CROSSCUT SAW: ENDS OFF{rest.partition('RACK: WHAT')[0]}"


class Reading:
    """Reads cuts out of a text: of a card ``sticks`` are those that a line is about."""

    def __init__(self, job: Job, blanks: dict[str, str]) -> None:
        self.job, self.blanks = job, blanks
        self.found: Cuts = Counter()

    def size(self, text: str) -> int:
        """Return a figure in steps."""
        return int(exact(text, self.job.shop.units))

    def add(self, count: int, what: str, *sizes: str) -> None:
        """Note a cut so many times."""
        self.found[what, *map(self.size, sizes)] += count

    def ends(self, text: str) -> None:
        """Read where the rough crosscuts are."""
        for one in re.findall(rf"(?:\bat|\band) {FIG}", text) if re.search(r"\bat \d", text) else ():
            self.add(1, "end", one)
        for low, high in re.findall(rf"from {FIG} to {FIG}", text):
            self.add(1, "length", low, high)

    def card(self, line: str) -> None:
        """Read a line of a card."""
        if re.match("(Ends?|Cut out|End [AB]) ", line):
            self.ends(line)
        elif found := re.match(rf"Bandsaw, hollow side down: split along a line {FIG} from edge 1", line):
            self.add(1, "split", found[1])
        elif found := re.match(r"(Table saw|Bandsaw), (?:(.*) each, )?.*?down, .*? to fence: (.*)", line):
            for kind, fence, words in re.findall(rf"(rip|resaw) {FIG}{TIMES}", found[3]):
                self.add(many(found[2] or "") * often(words), f"{found[1].lower()}, {kind}", fence)
        elif found := re.match(rf"(?:(Sticks? [^:]*): )?[Pp]lane {FIG} × {FIG} ", line):
            self.add(many(found[1] or ""), "plane", found[2], found[3])
        elif found := re.match(rf"(?:(Sticks? [^:]*): )?(?:[Ss]quare|[Tt]ake {FIG} off) end A", line):
            self.lengths(line, many(found[1] or ""), found[2])
        else:
            assert re.match("(Face 1|Let the sticks rest|Pull the metal|(Sticks? .*: )?[Jj]oint )", line), (
                line
            )

    def lengths(self, line: str, sticks: int, off: str | None) -> None:
        """Read how sticks are squared and cut to length."""
        self.found["square", self.size(off) if off else self.job.shop.stick_trim] += sticks
        for skip in re.findall(rf"then take {FIG} off", line):
            self.add(sticks, "skip", skip)
        for stop, words, said in re.findall(rf"stop {FIG}{TIMES}(?: each)?: ([^;]*)", line):
            blank = next(
                name for name in self.blanks if said.startswith(counted(sticks * often(words), name))
            )
            self.add(sticks * often(words), f"stop, {blank}", stop)

    def lists(self, text: str) -> None:
        """Read the machine lists."""
        part, figure, words = "", "", ""
        for line in text.splitlines():
            if found := re.match(r"--- (.*) ---", line):
                size = re.match(rf"{FIG}(?: (.*))?", found[1])
                assert size
                figure, words = size[1], size[2] or ""
            elif line.startswith("[ ] "):
                self.item(part, figure, words, line[4:])
            elif line:
                part = line

    def item(self, part: str, figure: str, words: str, line: str) -> None:
        """Read what stands under a setting."""
        if not figure:
            self.ends(line)
        elif part.startswith("Splits"):
            self.add(1, "split", figure)
        elif found := re.match(r"(table saw|bandsaw)", words):
            kind = "rip" if re.search("edge (1 )?to fence", f"{words} {line}") else "resaw"
            hands = re.match(r"(.*), each", line)
            passes = often((re.search(rf"({'|'.join(OFTEN)})\b", f"{words}; {line}") or (None, None))[1])
            self.add((many(hands[1]) if hands else 1) * passes, f"{found[1]}, {kind}", figure)
        elif part.startswith(("On edge", "Flat")):
            names = re.sub(r" \([^)]*\)|\*", "", line.partition(": ")[2])
            count = sum(
                many(name)
                for name in re.findall(r"P\d+(?:#\d)?-.*?(?=, [PF]|$)|F\d+(?:#\d)?-.*?(?=, [PF]|$)", names)
            )
            self.add(count, part.partition(",")[0].lower(), figure)
        elif part.startswith("First: square"):
            names = re.sub(r", keep [^,]*(, K\d+)*", "", line)
            count = sum(many(name) for name in re.findall(r"[PF]\d+(?:#\d)?-.*?(?=, [PF]|$)", names))
            self.add(count, "square", figure)
        elif part.startswith("Then to the stop"):
            found = re.match(rf"(.*?){TIMES}( each)?: (?:{FIG} off first; )?(.*)", line)
            assert found
            blank = next(
                name
                for name in self.blanks
                if f"{words}; {found[5]}".startswith(name) or found[5].startswith(name)
            )
            self.add(many(found[1]) * often(found[2]), f"stop, {blank}", figure)
            if found[4]:
                self.add(many(found[1]), "skip", found[4])
        else:
            assert words.startswith("jointer") or "no saw takes so little" in words, (part, words)


def planned(job: Job, plan: Plan) -> Iterator[tuple[object, ...]]:
    """Yield every cut of a plan as :class:`Reading` notes it, from the model alone."""
    for drawn in plan.offcuts:
        yield from _ends(job, drawn)
        offcut = job.offcut(drawn.offcut)
        for billet in drawn.billets:
            if not hasattr(billet, "strips"):
                yield "split", billet.split
            for wood, part in milled(offcut, billet, job.shop):
                for row in sawn_rows(wood, part, job.shop):
                    kind = "rip" if row.axis == "y" else "resaw"
                    yield from ((f"{row.machine}, {kind}", sawn.at) for sawn in row.passes if sawn.at > 0)
                for stick in (stick for strip in part.strips for stick in strip.sticks):
                    sizes = section(offcut, job.blank(stick.blanks[0].blank), job.shop, turned=stick.turned)
                    yield "plane", sizes.planed_width, sizes.planed_thickness
                    yield "square", stick.blanks[0].start - part.start
                    here = stick.blanks[0].start
                    for cut in stick.blanks:
                        if cut.start > here:
                            yield "skip", cut.start - here
                        yield f"stop, {cut.blank}", cut.end - cut.start
                        here = cut.end + job.shop.crosscut_kerf


def _ends(job: Job, drawn: OffcutPlan) -> Iterator[tuple[object, ...]]:
    spans = [(billet.start, billet.end) for billet in drawn.billets]
    long, kerf = job.offcut(drawn.offcut).length, job.shop.crosscut_kerf
    lengths = spans + [keeper.x for keeper in keepers(job, drawn) if keeper.form == "length"]
    if crosscuts(spans, (0, long), kerf) and len(lengths) > 1:
        yield from (("length", *span) for span in lengths)
    elif crosscuts(spans, (0, long), kerf):
        yield from (("end", place) for place in lengths[0] if 0 < place < long)


CASES = (*DEMOS, *range(40))


def case(name: str | int) -> tuple[Job, Plan]:
    """Return a demo with its plan, or a random plan."""
    return demo(name) if isinstance(name, str) else random_plan(name, offcuts=3)


def read(job: Job, plan: Plan) -> tuple[Reading, Reading]:
    """Return what is read out of the cards and out of the lists."""
    cards, lists = parts(order_text(cutting_order(job, plan), width=100_000))
    blanks = {blank.name: blank.name for blank in sorted(job.blanks, key=lambda blank: -len(blank.name))}
    bench, floor = Reading(job, blanks), Reading(job, blanks)
    for line in cards.splitlines():
        if line.startswith("[ ] "):
            bench.card(line[4:])
    floor.lists(lists)
    return bench, floor


@pytest.mark.parametrize("name", CASES)
def test_the_texts_cuts_are_the_plans(name: str | int) -> None:
    """Rough crosscuts, splits, passes with their fences, planed sizes, ends and stops: each, and as often."""
    job, plan = case(name)
    bench, floor = read(job, plan)
    wanted: Cuts = Counter(planned(job, plan))
    assert bench.found == wanted
    of_lists: Cuts = Counter()
    for (what, *sizes), count in wanted.items():
        if what == "plane":
            of_lists["on edge", sizes[0]] += count
            of_lists["flat", sizes[1]] += count
        else:
            of_lists[what, *sizes] += count
    assert floor.found == of_lists


@pytest.mark.parametrize("name", CASES)
def test_every_figure_is_one_of_the_plan(name: str | int) -> None:
    """No fraction of an inch and no half of a millimetre in the text but those of the plan, and what is to spare."""
    job, plan = case(name)
    order = cutting_order(job, plan)
    known = figures_and_margins(order)
    text = order_text(order, width=100_000)
    assert [
        (line, steps) for line in text.splitlines() for steps in read_figures(line, job) if steps not in known
    ] == []
