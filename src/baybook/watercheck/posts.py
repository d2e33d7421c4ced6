"""Railing posts inside the frame: does their blocking stand where a bay's outlet goes? (O2, T6)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from baybook.job.records import JobInputs, Post
from baybook.numbers import r6
from baybook.takeoff.model import AreaTake, Finding, Part
from baybook.takeoff.outlets import height_left_in
from baybook.watercheck.model import PostRow

__all__ = ["post_findings", "post_rows"]


def _in_bay(post: Post, part: Part) -> bool:
    """Whether the post stands, with any of its width, in a bay that drains."""
    left, right = r6(post.x_in - post.size_in / 2), r6(post.x_in + post.size_in / 2)
    return any(bay.drains and r6(bay.left_in) < right and r6(bay.left_in + bay.clear_in) > left for bay in part.bays)


def _at_outlet(post: Post, part: Part, outlet_end_in: float) -> bool:
    """Whether blocking on both sides of the post reaches into the outlet's end of the bay."""
    half = post.size_in / 2 + part.area.joist_thickness_in
    near, far = r6(post.y_in - half), r6(post.y_in + half)
    if not part.toward_ledger:
        return far > r6(part.far_in - outlet_end_in) and near < r6(part.far_in)
    return near < r6(part.near_in + outlet_end_in) and far > r6(part.near_in)


def post_rows(takes: Sequence[AreaTake], inputs: JobInputs) -> Iterator[PostRow]:
    """O2. Every post inside the frame.

    Parameters
    ----------
    takes : sequence of AreaTake
        The areas.
    inputs : JobInputs
        Its posts; ``outlet_end_in`` and ``blocking_share`` of its rates.

    Yields
    ------
    PostRow
        In the order stated.
    """
    by_name = {take.area.area.casefold(): take for take in takes}
    for post in inputs.posts:
        if post.where == "outside":
            continue
        take = by_name[post.area.casefold()]
        part = take.part_at(post.x_in, post.y_in)
        inside = _in_bay(post, part)
        from_high = part.far_in - post.y_in if part.toward_ledger else post.y_in - part.near_in
        along = min(max(from_high, 0.0), part.clear_run_in)
        depth = take.area.joist_depth_in
        left = height_left_in(depth, take.liner.drape_in, along, part.clear_run_in) if inside else 0.0
        yield PostRow(
            post=post,
            part=part.name,
            in_bay=inside,
            at_outlet=inside and _at_outlet(post, part, inputs.rates.outlet_end_in),
            height_left_in=left,
            low=inside and left < r6(inputs.rates.blocking_share * depth),
        )


def post_findings(rows: Sequence[PostRow], inputs: JobInputs) -> Iterator[Finding]:
    """O2, T6. What the posts ask for: room for outlets, a look at low blocking, tape and bead for as many as stated."""
    for part in dict.fromkeys(row.part for row in rows):
        mine = [row for row in rows if row.part == part]
        wrong, low = sum(row.at_outlet for row in mine), sum(row.low for row in mine)
        if wrong:
            yield Finding(
                "O2",
                failed=True,
                where=f"{part} posts",
                message=f"blocking of posts inside the frame ({wrong}) would stand in the last "
                f"{inputs.rates.outlet_end_in:g} in of a bay, where its outlet goes: set them outside, move them, or "
                "drain to the other side",
            )
        if low:
            yield Finding(
                "O2",
                failed=False,
                where=f"{part} posts",
                message=f"blocking of posts ({low}) is lower than the usual {inputs.rates.blocking_share:.0%} (IRC "
                "R507.6; value from memory): ask the designer",
            )
    for area in inputs.areas:
        mine_here = [post for post in inputs.posts if post.area.casefold() == area.area.casefold()]
        inside = sum(post.where == "inside" for post in mine_here)
        if mine_here and inside != area.posts_through:
            yield Finding(
                "T6",
                failed=False,
                where=area.area,
                message=f"posts.csv has {inside} posts inside the frame, posts_through is {area.posts_through}: tape "
                f"and bead are counted for {area.posts_through}",
            )
