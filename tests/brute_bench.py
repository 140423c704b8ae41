"""What holds for all offcuts of a job that is enumerated (:mod:`brute`): prices, settings, saws, keepers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from brute_rows import Tally

if TYPE_CHECKING:
    from brute_rows import Labels

    from yieldplan.model import Job, Shop

INCH = 8128
Machine = Literal["table saw", "bandsaw"]


def word(text: str) -> str:
    """Return a word as species and kinds are compared."""
    return " ".join(text.split()).casefold()


def worth(shop: Shop, length: int, one: int, other: int) -> int:
    """Return the worth of a piece (steps), in thousandths of a board foot."""
    over, under = shop.length_premium.as_integer_ratio()
    full = under * shop.full_length
    share = full + over * min(length, shop.full_length)
    return 1000 * length * one * other * share // (144 * INCH**3 * full)


class Bench:
    """What holds for all offcuts of a job: prices, settings by their bits, kinds of blanks."""

    def __init__(self, job: Job) -> None:
        self.job, self.shop, self.mark = job, job.shop, job.shop.mark
        shop = job.shop
        self.setting, self.stop = self.price(shop.machine_setting), self.price(shop.stop_setting)
        self.offcut, self.billet = self.price(shop.offcut_handled), self.price(shop.billet_jointed)
        self.cut, self.band = self.price(shop.cut), self.price(shop.bandsaw_pass)
        self.stick = self.price(shop.stick_planed)
        self.tally = Tally([blank.need + blank.spare for blank in job.blanks], self.setting)
        self.sizes = [(blank.length + shop.length_allowance) // self.mark for blank in job.blanks]
        self.clear = [
            min(self.up(blank.clear_end), size) for blank, size in zip(job.blanks, self.sizes, strict=True)
        ]
        self.allows = [frozenset(map(word, blank.allows)) for blank in job.blanks]
        paired = [(1 << kind, blank) for kind, blank in enumerate(job.blanks) if blank.pairs]
        self.paired = sum(bit for bit, _ in paired)
        self.may_stand_alone = sum(bit for bit, blank in paired if blank.need % 2 or blank.spare % 2)
        self.odd_board = -(-1000 * shop.pair_from_one_board // (2 * shop.minutes_for_a_board_foot))
        self._bits: dict[tuple[object, ...], int] = {}

    def price(self, hundredths: int) -> int:
        """Return the price of so much work, rounded up."""
        return -(-hundredths * 1000 // self.shop.minutes_for_a_board_foot)

    def by_odd(self, cuttings: Labels) -> dict[int, Labels]:
        """Return cuttings of an offcut by the kinds in pairs that they hold an odd number of, a bit each."""
        found: dict[int, Labels] = {}
        for blanks, labels in cuttings.items():
            counts = enumerate(self.tally.counts(blanks))
            odd = sum(count % 2 << kind for kind, count in counts) & self.paired
            more = odd.bit_count() * self.odd_board
            found.setdefault(odd, {})[blanks] = [(mask, cost + more, parts) for mask, cost, parts in labels]
        return found

    def up(self, steps: int) -> int:
        """Return steps in marks, rounded up."""
        return -(-steps // self.mark)

    def marks(self, name: str) -> int:
        """Return a length of the shop in marks."""
        return int(getattr(self.shop, name)) // self.mark

    def bit(self, *setting: object) -> int:
        """Return the bit of a setting."""
        return self._bits.setdefault(setting, 1 << len(self._bits))

    def saw(self, height: int, *, resaw: bool) -> Machine | None:
        """Return the saw that makes a cut so high (marks), None where none does (R5)."""
        if resaw and height > self.marks("resaw_height"):
            return None
        if height <= self.marks("saw_depth"):
            return "table saw"
        return "bandsaw" if height <= self.marks("bandsaw_height") else None

    def kerf(self, machine: Machine | None) -> int:
        """Return what a cut of this saw takes, the skim of the fresh face with it (marks)."""
        if machine is None:
            return 0
        return (
            self.marks("rip_kerf")
            if machine == "table saw"
            else self.marks("bandsaw_kerf") + self.marks("bandsaw_skim")
        )

    def sawing(self, machine: Machine | None) -> int:
        """Return the price of a pass."""
        return self.band if machine == "bandsaw" else self.cut

    def keeps(self, length: int, one: int, other: int) -> int:
        """Return the worth of a leftover (marks), 0 where it is no keeper (R11)."""
        shop, mark = self.shop, self.mark
        small, large = sorted((one * mark, other * mark))
        least, most = sorted((shop.keeper_width, shop.keeper_thickness))
        if length <= 0 or small <= 0 or length * mark < shop.keeper_length or small < least or large < most:
            return 0
        return worth(shop, length * mark, small, large)
