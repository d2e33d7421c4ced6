"""What a take-off says: bays, parts, gutter lines, pieces to cut, needs, tasks and findings, all frozen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from baybook.job.records import Area, Liner
from baybook.numbers import r6, same_or_less
from baybook.takeoff.cutout import Cutout
from baybook.takeoff.lowlines import SQUARE_DEG
from baybook.takeoff.members import Member
from baybook.takeoff.stock import StockOnOffer

__all__ = ["AreaTake", "Bay", "Blocking", "CutPieces", "EdgeLine", "Finding", "GutterLine", "Need", "Part", "Takeoff"]


@dataclass(frozen=True, slots=True)
class Finding:
    """A check that did not pass: a warning, or a failed check that stands in the way of an offer."""

    rule: str
    failed: bool
    where: str
    message: str

    def __str__(self) -> str:
        """Return the finding as one line."""
        return f"{self.where}: {self.message} ({self.rule})" if self.where else f"{self.message} ({self.rule})"


@dataclass(frozen=True, slots=True)
class Bay:
    """G4, G5. The clear gap between two members, in one part of its area; it knows its own run and low end."""

    part: str
    number: int
    left_in: float
    clear_in: float
    run_in: float
    low_end: str  # "rim", "ledger" or "beam": what stands at its low end
    cut_length_in: float
    drains: bool
    width_needed_in: float
    trim_off_in: float
    narrow_outlet: bool
    piece: str = ""  # of an outline: a, b ... from the ledger out, where a bay has several parts

    @property
    def label(self) -> str:
        """What the installer writes on its pieces."""
        return f"{self.part}{self.piece}" if self.part.endswith(f"-{self.number}") else f"{self.part}-{self.number}"


@dataclass(frozen=True, slots=True)
class Blocking:
    """O2. A row of blocking and what height is left for it."""

    area: str
    y_in: float
    height_left_in: float
    lumber: str
    low: bool


@dataclass(frozen=True, slots=True)
class Part:
    """G6. An area, or what flush beams make of it, from the ledger out; of an outline one bay or cap strip (G10)."""

    name: str
    area: Area
    liner: Liner
    number: int
    near_in: float  # inner face of what bounds it on the ledger side
    far_in: float
    plan_to_in: float  # y at which its plan area ends: the next beam's centre, or the rim
    line: str  # name of its gutter line
    line_in: float  # length of gutter it brings; 0 of an outline, whose edges bring it
    toward_ledger: bool  # its water runs toward the ledger
    clear_run_in: float
    cut_length_in: float
    fall_in_per_ft: float
    plan_area_sq_ft: float
    flow_gpm: float
    bays: tuple[Bay, ...]
    narrow_strip_in: float  # P5, width of the strips over narrow bays, 0 if none
    wide_strip_in: float  # P5, width of the strips over wide members, 0 if none
    wide_members: int
    panel_pieces: tuple[int, ...] = ()  # sixteenths of one panel
    owns: tuple[float, float, float, float] | None = None  # of an outline: left, right, near, far of what is its own
    member_in: float = 0.0  # of a cap strip of an outline: width of the member
    high: str = ""  # and what stands at its high end: ledger, rim or beam
    high_in: float = 0.0  # thickness of that beam

    @property
    def outlets(self) -> int:
        """G5. One a draining bay."""
        return sum(bay.drains for bay in self.bays)

    @property
    def narrow_bays(self) -> int:
        """Bays that are capped."""
        return len(self.bays) - self.outlets

    @property
    def strips(self) -> int:
        """P5. Cap strips as placed."""
        return self.narrow_bays + self.wide_members


@dataclass(frozen=True, slots=True)
class EdgeLine:
    """G12. The gutter along low edges of an outline: its straight stretches and its turns."""

    name: str
    stretches_in: tuple[float, ...]
    turns_deg: tuple[float, ...]  # the deck's inner angle at each turn: under 180 round an outside corner
    ends_deg: tuple[float, float] = (SQUARE_DEG, SQUARE_DEG)  # and at its left and right end
    places: tuple[tuple[float, float, float, float], ...] = ()  # x and y of both ends of each stretch. [in]


@dataclass(frozen=True, slots=True)
class AreaTake:
    """An area with its members and parts."""

    area: Area
    liner: Liner
    members: tuple[Member, ...]
    parts: tuple[Part, ...]
    outlet_trim_in: float
    extended: bool
    apron_pieces: tuple[int, ...]  # sixteenths, empty unless it drains to the ledger
    taped: tuple[tuple[float, float], ...]  # T1: width and length of each run of tape. [in]
    edges: tuple[EdgeLine, ...] = ()  # G12, of an outline; the first is the area's own line
    drawing: Cutout | None = None  # G10, of an outline
    apron_in: float = 0.0  # G8, before it is pieced

    def part_at(self, x_in: float, y_in: float) -> Part:
        """Return the part that a point lies in, or nearest to."""
        for part in self.parts:
            if part.owns is None:
                if same_or_less(y_in, part.plan_to_in):
                    return part
            elif part.bays:
                left, right, near, far = part.owns
                if r6(left) < r6(x_in) <= r6(right) and r6(near) < r6(y_in) <= r6(far):
                    return part
        return next((part for part in reversed(self.parts) if part.bays), self.parts[-1])


@dataclass(frozen=True, slots=True)
class GutterLine:
    """W3, W4. One gutter under a row of bay outlets."""

    name: str
    parts: tuple[str, ...]
    length_in: float
    flow_gpm: float
    capacity_gpm: float
    reach_ft: float
    leaders: int
    run_ft: float
    joist_bottom_in: float
    leader_length_in: float
    hanger_step_in: float
    gutter_pieces: tuple[int, ...]  # sixteenths
    leader_pieces: tuple[int, ...]  # sixteenths, of one leader
    joiners: int
    corners_out: int
    corners_in: int
    hangers: int
    straps: int
    more_extensions: Mapping[str, bool]  # part -> it stands so high that each outlet takes one more

    @property
    def length_ft(self) -> float:
        """Length. [ft]."""
        return self.length_in / 12


@dataclass(frozen=True, slots=True)
class CutPieces:
    """P7. What must be cut of one item: sixteenths and the label of each piece, in the order of work."""

    item: str
    liner: str
    pieces: tuple[tuple[int, str], ...]


@dataclass(frozen=True, slots=True)
class Need:
    """A net quantity of one item that is bought in packs, and the rule that made it."""

    item: str
    liner: str  # record it belongs to, empty for items that belong to none
    net: float
    rule: str


@dataclass(frozen=True, slots=True)
class Takeoff:
    """The whole take-off of a job."""

    areas: tuple[AreaTake, ...]
    lines: tuple[GutterLine, ...]
    cut: tuple[CutPieces, ...]
    stock: Mapping[tuple[str, str], StockOnOffer]  # (item, liner record) -> what is on offer
    needs: tuple[Need, ...]
    tasks: Mapping[str, float]  # task -> count (M2)
    blocking: tuple[Blocking, ...]
    findings: tuple[Finding, ...]
    bead_ft: float
    flow_gpm: float

    @property
    def parts(self) -> tuple[Part, ...]:
        """All parts, area by area."""
        return tuple(part for area in self.areas for part in area.parts)

    @property
    def bays(self) -> int:
        """Bays, each counted once a part."""
        return sum(len(part.bays) for part in self.parts)
