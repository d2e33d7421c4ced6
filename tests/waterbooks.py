"""Random books whose water is varied: rain beyond what is carried, profiles, codes, posts, levels, acceptances.

The decks are those of `books.random_job`; what this module changes comes from a generator of its own, so that the decks
stay what they are.
"""

from __future__ import annotations

import random
from dataclasses import replace
from functools import lru_cache

from books import TODAY, random_job

from baybook.estimate import Estimate, build_estimate
from baybook.job.rates import GUTTER_MATERIALS, GUTTER_PROFILES
from baybook.job.records import Acceptance, CodeRow, JobInputs, Post
from baybook.problems import BookError


def _rates(inputs: JobInputs, rng: random.Random) -> JobInputs:
    pick = rng.choice
    rates = replace(
        inputs.rates,
        gutter_profile=pick(GUTTER_PROFILES),
        gutter_width_in=pick((4.0, 5.0, 6.25)),
        gutter_depth_in=pick((3.5, 3.5, 4.5)),
        gutter_freeboard_in=pick((0.0, 0.5, 1.0, 3.5)),
        gutter_roughness=pick((0.010, 0.012, 0.015)),
        liner_roughness=pick((0.010, 0.011)),
        gutter_fall_in_per_ft=pick((0.0, 0.03125, 0.0625, 0.0625)),
        outlet_head_in=pick((0.25, 1.0, 2.0)),
        outlet_long_in=pick((2.0, 3.0)),
        outlet_end_in=pick((6.0, 12.0, 24.0)),
        leader_size=pick(("2x2", "2x3", "3x4", "4x5")),
        leader_capacity_gpm=pick((None, None, None, 24.0)),
        leader_spacing_ft=pick((50.0, 12.0)),
        gutter_material=pick(GUTTER_MATERIALS),
        temperature_swing_f=pick((0.0, 100.0, 150.0)),
        min_headroom_in=pick((0.0, 0.0, 96.0)),
        expansion_joint_ft=pick((40.0, 8.0)),
    )
    return replace(inputs, rates=rates)


def _rain(inputs: JobInputs, rng: random.Random) -> JobInputs:
    """Rain and roofs from little to far more than is carried, and falls turned round."""
    job = replace(inputs.job, rain_in_per_h=rng.choice((2.18, 9.31, 25.0, 60.0)))
    areas = tuple(
        replace(
            area,
            roof_area_sq_ft=rng.choice((area.roof_area_sq_ft, 0.0, 800.0, 9000.0)),
            frame_fall_in_per_ft=rng.choice((area.frame_fall_in_per_ft, area.frame_fall_in_per_ft, -0.5, 1.5)),
        )
        for area in inputs.areas
    )
    return replace(inputs, job=job, areas=areas)


def _codes(inputs: JobInputs, rng: random.Random) -> JobInputs:
    rows: list[CodeRow] = []
    kind = {"job": inputs.job.job, "code": "Harbor County", "edition": "2021"}
    if rng.random() < 0.6:
        for size in rng.sample(("k-style 5 in", "K-Style 6 IN", "half-round 5 in", "box", "half-round 8 in"), 3):
            for fall in rng.sample((None, 0.03125, 0.0625, 0.125), 2):
                gpm = rng.choice((18.0, 37.5, 74.0))
                area = gpm * 96.25 if rng.random() < 0.3 else None
                value = {"capacity_gpm": None if area else gpm, "area_sq_ft": area}
                rows.append(CodeRow(kind="gutter", size=size, fall_in_per_ft=fall, **value, **kind))
    if rng.random() < 0.6:
        rows += [
            CodeRow(kind="leader", size=size, capacity_gpm=rng.choice((22.0, 30.0, 92.0)), **kind)
            for size in rng.sample(("2x2", "2x3", "3x4", "4x5", "5x6"), 3)
        ]
    return replace(inputs, codes=tuple(rows))


def _posts(inputs: JobInputs, rng: random.Random) -> JobInputs:
    posts = []
    for area in inputs.areas:
        for _ in range(rng.choice((0, 0, 1, 3))):
            # on the sixteenth, at the low end's limit, or on a member
            x = rng.choice((round(rng.uniform(2, area.width_in - 2) * 16) / 16, min(area.spacing_in, area.width_in)))
            y = rng.choice(
                (
                    area.projection_in - 1.5 - inputs.rates.outlet_end_in - 1.75 - area.joist_thickness_in,
                    round(rng.uniform(0, area.projection_in) * 16) / 16,
                    area.projection_in,
                )
            )
            where = rng.choice(("inside", "inside", "outside"))
            posts.append(Post(job=area.job, area=area.area, x_in=x, y_in=max(0.0, y), size_in=3.5, where=where))
    return replace(inputs, posts=tuple(posts))


def _accept(inputs: JobInputs, rng: random.Random) -> JobInputs:
    """Accept some of what failed, and now and then something that did not."""
    failed = {(one.rule, one.where): one for one in build_estimate(inputs).findings if one.failed}
    rows = [
        Acceptance(job=inputs.job.job, rule=rule, where=where, person="A. Marlow", reason="as agreed", on=TODAY)
        for rule, where in failed
        if rng.random() < 0.5
    ][:20]
    if rng.random() < 0.2:
        rows.append(
            Acceptance(job=inputs.job.job, rule="G9", where="nowhere", person="A. Marlow", reason="a slip", on=TODAY)
        )
    return replace(inputs, acceptances=tuple(rows))


@lru_cache(maxsize=512)
def wet_estimate(seed: int) -> Estimate:
    """Return the first estimate of a seed that the engine accepts; its job is in pricing, so it may have failed."""
    for attempt in range(50):
        rng = random.Random(f"water {seed}/{attempt}")
        inputs = random_job(seed)
        inputs = replace(inputs, job=replace(inputs.job, status="pricing"))
        try:
            for change in (_rates, _rain, _codes, _posts, _accept):
                inputs = change(inputs, rng)
            return build_estimate(inputs)
        except BookError:
            continue
    raise AssertionError(f"seed {seed}: fifty books in a row were refused")
