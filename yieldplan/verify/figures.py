"""The figures of a plan, worked out afresh: counts, account of wood, net worth, proof."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from yieldplan.model import SplitBillet, WholeKeeper
from yieldplan.verify.breach import plain
from yieldplan.verify.cuts import box_of
from yieldplan.verify.pieces import planed
from yieldplan.verify.rows import Span, saw_cuts, saw_kerf, sawdust
from yieldplan.verify.split import halves_of
from yieldplan.verify.wood import section_to_plane

if TYPE_CHECKING:
    from yieldplan.model import Billet, Job, Offcut, Plan, Segment, Stick
    from yieldplan.verify.breach import Notebook
    from yieldplan.verify.cuts import Box

INCH = 8128
"""Steps in an inch."""


def worth_of(notes: Notebook, length: int, one: int, other: int) -> int:
    """Return a piece's worth: thousandths of a board foot, dearer in proportion to its length (aim 2)."""
    shop = notes.shop
    board_feet = Fraction(length * one * other, 144 * INCH**3)
    dearer = 1 + Fraction(shop.length_premium) * Fraction(min(length, shop.full_length), shop.full_length)
    return math.floor(1000 * board_feet * dearer)


@dataclass(slots=True)
class Tally:
    """The account of wood as it is added up (cubic steps), with the worth drawn and the worth kept."""

    notes: Notebook
    volume_in: int = 0
    blanks: int = 0
    keepers: int = 0
    kerf: int = 0
    shavings: int = 0
    drawn: int = 0
    kept: int = 0
    extras: int = 0
    crosscuts: int = 0

    def keep(self, length: int, one: int, other: int) -> None:
        """Add a keeper."""
        self.keepers += length * one * other
        self.kept += worth_of(self.notes, length, one, other)

    def add_offcut(self, offcut: Offcut, segments: tuple[Segment, ...]) -> None:
        """Add one drawn piece of the pile and all that becomes of it."""
        section = offcut.width * offcut.thickness
        self.volume_in += offcut.length * section
        self.drawn += worth_of(self.notes, offcut.length, offcut.width, offcut.thickness)
        spans = [Span("", segment.start, segment.end) for segment in segments]
        self._crosscut(spans, (0, offcut.length), section)
        for segment in segments:
            if isinstance(segment, WholeKeeper):
                self.keep(segment.end - segment.start, offcut.width, offcut.thickness)
            elif isinstance(segment, SplitBillet):
                self.kerf += (segment.end - segment.start) * offcut.thickness * self.notes.shop.bandsaw_kerf
                for _, half, billet in halves_of(offcut, segment, self.notes.shop):
                    if billet.strips:
                        self._add_billet(billet, box_of(half, billet, "", self.notes))
            else:
                self._add_billet(segment, box_of(offcut, segment, "", self.notes))

    def _crosscut(self, spans: list[Span], room: tuple[int, int], section: int) -> None:
        """Count the crosscuts of a row of pieces, and their dust."""
        kerf = self.notes.shop.crosscut_kerf
        self.kerf += section * sawdust(spans, room, kerf)
        self.crosscuts += saw_cuts(spans, room, kerf)

    def _add_billet(self, billet: Billet, box: Box) -> None:
        shop, offcut = self.notes.shop, box.offcut
        self.shavings += box.length * (offcut.width * offcut.thickness - box.across * box.through)
        rows = [Span("", strip.start, strip.end) for strip in billet.strips]
        dust = sawdust(rows, (0, box.across), saw_kerf(shop, box.first_height) or 0)
        self.kerf += box.length * box.through * dust
        for strip in billet.strips:
            wide = strip.end - strip.start
            if strip.keeper:
                self.keep(box.length, wide, box.through)
            rows = [Span("", stick.start, stick.end) for stick in strip.sticks]
            dust = sawdust(rows, (0, box.through), saw_kerf(shop, wide) or 0)
            self.kerf += box.length * wide * dust
            for stick in strip.sticks:
                self._add_stick(stick, wide, box)

    def _add_stick(self, stick: Stick, wide: int, box: Box) -> None:
        rough = wide * (stick.end - stick.start)
        if stick.keeper:
            self.keep(box.length, wide, stick.end - stick.start)
        section = planed(self.notes, stick, box)
        if section is None:
            return
        self.shavings += box.length * (rough - section[0] * section[1])
        spans = [Span("", cut.start, cut.end) for cut in stick.blanks]
        spans += [Span("", rest.start, rest.end) for rest in stick.keepers]
        self._crosscut(spans, (box.start, box.end), section[0] * section[1])
        self.extras += sum(bool(cut.extra) for cut in stick.blanks)
        for cut in stick.blanks:
            blank = self.notes.blanks.get(cut.blank)
            if blank is not None:
                own = section_to_plane(box.offcut, blank, self.notes.shop, turned=bool(stick.turned))
                self.blanks += blank.length * own[0] * own[1]
        for rest in stick.keepers:
            self.keep(rest.end - rest.start, *section)


def check_account(notes: Notebook, plan: Plan, tally: Tally) -> None:
    """Compare the plan's account with the one added up here, to the last cubic step."""
    said = plan.account
    accounted = tally.blanks + tally.keepers + tally.kerf + tally.shavings
    rows = (
        ("volume in", said.volume_in, tally.volume_in),
        ("blanks", said.blanks, tally.blanks),
        ("keepers", said.keepers, tally.keepers),
        ("kerf", said.kerf, tally.kerf),
        ("shavings", said.shavings, tally.shavings),
        ("trimmings", said.trimmings, tally.volume_in - accounted),
    )
    for word, has, needs in rows:
        if has != needs:
            notes.note(
                "account",
                "plan",
                f"{word} are said to be {plain(has)} cubic steps; they come to {plain(needs)}",
            )
        if needs < 0:
            notes.note(
                "account", "plan", f"{word} come to {plain(needs)} cubic steps; no wood can be less than none"
            )
    total = said.blanks + said.keepers + said.kerf + said.shavings + said.trimmings
    if total != said.volume_in:
        notes.note(
            "account",
            "plan",
            f"it does not balance: {plain(said.volume_in)} cubic steps go in, {plain(total)} come out",
        )


def check_counts(notes: Notebook, job: Job, plan: Plan) -> None:
    """Compare made, extra and missing with the blanks that the plan cuts, with need and with extra."""
    cut = Counter(
        (piece.blank, bool(piece.extra))
        for drawn in plan.offcuts
        for billet in drawn.billets
        for strip in billet.strips
        for stick in strip.sticks
        for piece in stick.blanks
    )
    said = {
        word: _table(notes, job, word, pairs)
        for word, pairs in (("made", plan.made), ("extra", plan.extra), ("missing", plan.missing))
    }
    for blank in job.blanks:
        where = f"blank {blank.name}"
        made, extra = cut[blank.name, False], cut[blank.name, True]
        for word, count in (("made", made), ("extra", extra), ("missing", blank.need - made)):
            stated = said[word].get(blank.name)
            if stated is not None and stated != count:
                notes.note(
                    "counts", where, f"{plain(stated)} are said to be {word}; the plan's cuts give {count}"
                )
        if made > blank.need:
            notes.note(
                "counts", where, f"{made} are cut as needed; only {blank.need} are, the rest are extra"
            )
        if extra > blank.extra:
            notes.note("counts", where, f"{extra} extra are cut; at most {blank.extra} are welcome")
        if extra and made < blank.need:
            notes.note(
                "counts", where, f"{extra} are cut as extra while {blank.need - made} needed ones are missing"
            )
    _check_classes(notes, job, plan, cut)


def _table(notes: Notebook, job: Job, word: str, pairs: tuple[tuple[str, int], ...]) -> dict[str, int]:
    known = {blank.name for blank in job.blanks}
    times = Counter(name for name, _ in pairs)
    for name, count in times.items():
        if name not in known:
            notes.note(
                "counts", f"blank {name}", f"it is listed under {word}; the input asks for no such blank"
            )
        elif count > 1:
            notes.note("counts", f"blank {name}", f"it is listed {count} times under {word}; expected once")
    for blank in job.blanks:
        if blank.name not in times:
            notes.note(
                "counts", f"blank {blank.name}", f"it is not listed under {word}; expected every blank"
            )
    return dict(pairs)


def _check_classes(notes: Notebook, job: Job, plan: Plan, cut: Counter[tuple[str, bool]]) -> None:
    short: dict[int, int] = {}
    for blank in job.blanks:
        short[blank.priority] = short.get(blank.priority, 0) + max(blank.need - cut[blank.name, False], 0)
    if sorted(plan.proof.missing) != sorted(short.items()):
        notes.note(
            "proof",
            "plan",
            f"missing a priority class is said to be {_classes(plan.proof.missing)}; "
            f"the plan's cuts give {_classes(tuple(sorted(short.items())))}",
        )


def _classes(pairs: tuple[tuple[int, int], ...]) -> str:
    return ", ".join(f"{plain(count)} of class {plain(priority)}" for priority, count in pairs) or "nothing"


def check_proof(notes: Notebook, plan: Plan, tally: Tally) -> None:
    """Check net worth drawn, its bound, the gap and what is called proven."""
    proof = plan.proof
    net = tally.drawn - tally.kept
    if proof.net_worth != net:
        notes.note(
            "proof",
            "plan",
            f"net worth drawn is said to be {plain(proof.net_worth)}; it comes to {plain(net)}",
        )
    if proof.bound > proof.net_worth:
        notes.note(
            "proof",
            "plan",
            f"the bound {plain(proof.bound)} is above the net worth drawn, {plain(proof.net_worth)}; "
            "no bound can beat the plan it stands beside",
        )
    if proof.proven and proof.bound != proof.net_worth:
        notes.note(
            "proof",
            "plan",
            f"it is called proven with a bound of {plain(proof.bound)} and a net worth of "
            f"{plain(proof.net_worth)}; proven needs them equal",
        )
    _check_missing(notes, plan)
    _check_lesser(notes, plan, tally)
    gap = Fraction(proof.net_worth - proof.bound, max(proof.net_worth, 1))
    if not (math.isfinite(proof.gap) and abs(Fraction(proof.gap) - gap) <= Fraction(1, 10**9)):
        shown = f"{float(gap):.6g}" if abs(gap) < 10**300 else "beyond measure"
        notes.note("proof", "plan", f"the gap is said to be {proof.gap!r}; by the bound it is {shown}")


def _check_missing(notes: Notebook, plan: Plan) -> None:
    """Check that the bounds of aim 1 are of the classes that there are, and are not beaten by the plan itself."""
    least, missing = plan.proof.missing_at_least, dict(plan.proof.missing)
    if least and sorted(priority for priority, _ in least) != sorted(missing):
        notes.note(
            "proof",
            "plan",
            f"bounds are claimed for {_classes(least)}, blanks are missing of {_classes(plan.proof.missing)}; "
            "expected a bound for each class",
        )
    for priority, count in least:
        if count > missing.get(priority, count):
            notes.note(
                "proof",
                "plan",
                f"{plain(missing[priority])} of class {plain(priority)} are missing, which beats the bound that is "
                f"claimed, {plain(count)}; no bound can be beaten by the plan it stands beside",
            )


def _check_lesser(notes: Notebook, plan: Plan, tally: Tally) -> None:
    """Check that no bound of aims 3 and 4 is beaten by the very plan it stands beside."""
    lesser = plan.proof.lesser
    if lesser is None:
        return
    for word, has, bound, beaten in (
        ("extras", tally.extras, lesser.extras, tally.extras > lesser.extras),
        ("offcuts", len(plan.offcuts), lesser.offcuts, len(plan.offcuts) < lesser.offcuts),
        ("crosscuts", tally.crosscuts, lesser.crosscuts, tally.crosscuts < lesser.crosscuts),
    ):
        if beaten:
            notes.note(
                "proof",
                "plan",
                f"{word} come to {plain(has)}, which beats the bound that is claimed, {plain(bound)}; "
                "no bound can be beaten by the plan it stands beside",
            )
