"""Check the decision tables of the crew: each row, and both sides of each threshold, against the whole job with the reading changed."""

import csv
import datetime
import shutil
from functools import lru_cache

import pytest
from samples import DEMO, demo

from deckcalc.base.fields import FULL, JobError
from deckcalc.core import units
from deckcalc.core.units import quantity
from deckcalc.job.field_opening import LATER, opening_table
from deckcalc.job.field_tables import looked_up, patch_tables, steps
from deckcalc.job.order import changed, compute
from deckcalc.package import readings

#: The two demo jobs, and a patch of partial depth of each.
SYSTEMS = ("US", "metric")
PATCH = {"metric": "P1", "US": "P1"}


@lru_cache(maxsize=4)
def tables(system, name):
    """Return the tables of a patch."""
    return patch_tables(demo(system), name)


def written(value):
    """Return a quantity as an input of a job."""
    return f"{float(value.magnitude):.6g} {'mm' if 'milli' in str(value.units) else 'in'}"


def with_depth(system, name, depth):
    """Return the job with every depth of a patch read so."""
    job = demo(system)
    return changed(job, {f"depths.{r.name}.depth": written(depth) for r in job.patch[name].marked.deep})


def same(row, job, name):
    """Hold a row of depths against a whole job."""
    one = job.patch[name]
    assert row.depth_class == one.depth_class
    assert float((row.order / one.volume.V_order).m_as("")) == pytest.approx(1, rel=1e-9)
    assert row.concrete == job.mix.for_patch(name).name
    made = job.mix.loads.get(name), job.mix.bag_loads.get(name)
    if made[1] is not None:
        assert (row.batches, row.bags) == (made[1].count, sum(made[1].bags))
    elif made[0] is not None:
        assert (row.batches, row.bags) == (made[0].count, made[0].opened)
    if one.removal is None:
        assert row.out is None
    else:
        assert float(row.out.m_as("mm")) == pytest.approx(float(one.left.h_d.m_as("mm")), rel=1e-9)
        assert row.frees_bars == bool(float(one.removal.n_r.m_as("")))


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_depth_leads_to_what_the_whole_job_comes_to_on_both_sides_of_each_threshold(system):
    name, found = PATCH[system], tables(system, PATCH[system])
    rows = {row.depth: row for row in found.depths}
    order = list(rows)
    at = order.index(found.full_from)
    for depth in order[at - 1 : at + 1]:  # the last of partial depth, the first that goes through
        same(rows[depth], with_depth(system, name, depth), name)
    assert rows[order[at - 1]].depth_class != FULL == rows[order[at]].depth_class
    # between two rows the deeper one holds: never a lesser class, never less concrete
    between = (order[at - 1] + order[at]) / 2
    row, job = looked_up(found.depths, between, "up", lambda one: one.depth), with_depth(system, name, between)
    assert row.depth == order[at] and (row.depth_class == FULL or job.patch[name].depth_class != FULL)
    assert row.order >= job.patch[name].volume.V_order * (1 - 1e-9)


@pytest.mark.parametrize("system", SYSTEMS)
def test_the_deepest_reading_alone_decides_the_class(system):
    job, name = demo(system), PATCH[system]
    found = tables(system, name)
    reading = max(job.patch[name].marked.deep, key=lambda r: r.depth).name
    step = found.depths[1].depth - found.depths[0].depth
    for depth, full in ((found.full_from - step, False), (found.full_from, True)):
        after = changed(job, {f"depths.{reading}.depth": written(depth)})
        assert (after.patch.depth_class[name] == FULL) == full
        row = looked_up(found.depths, depth, "up", lambda one: one.depth)
        assert row.depth_class == after.patch.depth_class[name]


@pytest.mark.parametrize("system", SYSTEMS)
def test_depths_only_grow_and_end_with_the_slab(system):
    job = demo(system)
    for name in job.patch.depth_class:
        rows = tables(system, name).depths if name == PATCH[system] else patch_tables(job, name).depths
        slab = job.patch.deck.slab_thickness
        assert rows[-1].depth <= slab and rows[0].depth >= job.limit("least_patch_depth").value * (1 - 1e-9)
        full = [row.depth_class == FULL for row in rows]
        assert full == sorted(full)  # once it goes through, it stays so
        for kind in (False, True):
            volumes = [float(row.order.m_as("m³")) for row in rows if (row.depth_class == FULL) == kind]
            assert volumes == sorted(volumes)
        assert all(row.out is None or row.out >= row.depth * (1 - 1e-9) for row in rows)
        assert looked_up(rows, slab * 1.01, "up", lambda one: one.depth) is None
        assert looked_up(rows, rows[0].depth * 0.5, "up", lambda one: one.depth) is None


def test_rows_are_worked_out_beside_the_job_and_leave_it_as_it_was():
    job = demo("US")
    before = len(job.mix.runs), len(job.mix.checks), len(job.patch.runs), len(job.steel.runs), dict(job.mix.decisions)
    patch_tables(job, "P2")
    assert before == (len(job.mix.runs), len(job.mix.checks), len(job.patch.runs), len(job.steel.runs), dict(job.mix.decisions))  # fmt: skip
    with pytest.raises(JobError, match="P99"):
        patch_tables(job, "P99")


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_cover_leads_to_the_saw_cut_and_the_depth_of_the_whole_job(system):
    job, name = demo(system), PATCH[system]
    rows = tables(system, name).covers
    row = rows[len(rows) // 2]
    read = [r.name for r in job.patch[name].marked.readings if r.cover is not None]
    after = changed(job, {f"depths.{one}.cover": written(row.cover) for one in read}).patch[name]
    assert float(row.saw.m_as("mm")) == pytest.approx(float(after.saw.m_as("mm")))
    assert float(row.out.m_as("mm")) == pytest.approx(float(after.removal.h_bars.m_as("mm")))
    # the lesser row for the saw, the greater for the depth, are on the safe side of a cover between
    assert [one.saw for one in rows] == sorted(one.saw for one in rows)
    assert [one.out for one in rows] == sorted(one.out for one in rows)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_caliper_reading_leads_to_the_verdict_of_the_whole_job(system):
    job, name = demo(system), PATCH[system]
    table = next(one for one in tables(system, name).calipers if one.main)
    bars = [bar.name for bar in job.steel.bars_in(name) if bar.main and bar.row.size == table.size]
    first, second = bars[:2]
    step = quantity(0.005, "in") if system == "US" else quantity(0.1, "mm")
    read = lambda value: "; ".join([written(value)] * 3)  # noqa: E731
    sound = read(max(table.leave_pair, table.leave) + 2 * step)
    others = {f"bars.{one}.readings": sound for one in bars}
    low, high = table.leave - step, table.leave
    after = changed(job, {**others, f"bars.{first}.readings": read(high), f"bars.{bars[-1]}.readings": read(low)})
    assert table.verdict(high) == "leave" and not after.steel[first].over and not after.steel[first].why
    assert table.verdict(low) == "add" and after.steel[bars[-1]].over
    assert after.steel[bars[-1]].size == table.added and int(after.steel[bars[-1]].supplement.n.magnitude) == 1
    low, high = table.leave_pair - step, table.leave_pair
    after = changed(job, {**others, f"bars.{first}.readings": read(low), f"bars.{second}.readings": read(low)})
    assert table.verdict(low, low) == "add" and after.steel[first].why and after.steel[second].why
    after = changed(job, {**others, f"bars.{first}.readings": read(low), f"bars.{second}.readings": read(high)})
    assert table.verdict(low, high) == "leave" and not after.steel[first].why
    assert table.verdict(table.call - step) == "call" != table.verdict(table.call)


@pytest.mark.parametrize("system", SYSTEMS)
def test_a_loss_that_fits_has_the_cut_length_of_the_whole_job_and_a_longer_one_makes_the_patch_grow(system):
    job = demo(system)
    bar = next((one for one in job.steel if one.added is not None), None)
    found = (
        None if bar is None else next(t for t in patch_tables(job, bar.row.patch).calipers if t.size == bar.row.size)
    )
    if found is None or not found.cuts:
        assert all(not table.cuts or table.cuts[0][1] > table.lap for table in tables(system, PATCH[system]).calipers)
        return
    (longest, cut), step = found.cuts[-1], found.cuts[1][0] - found.cuts[0][0]
    for length, fits in ((longest, True), (longest + step, False)):
        after = changed(job, {f"bars.{bar.name}.loss_length": written(length)})
        sides = [float(side.m_as("m")) for one in (job, after) for side in one.patch[bar.row.patch].limits[:2]]
        stays = sides[:2] == pytest.approx(sides[2:], abs=1e-6) and bar.row.patch not in after.steel.growth
        assert stays == fits
        if fits:
            assert float(after.steel[bar.name].cut.m_as("mm")) == pytest.approx(float(cut.m_as("mm")))


def test_readings_between_rows_are_never_interpolated():
    rows = list(steps(quantity(40, "mm"), quantity(60, "mm"), 5, "mm"))
    for value in (40.0, 41.3, 44.999, 45.0, 59.0):
        up, down = (looked_up(rows, quantity(value, "mm"), side, lambda one: one) for side in ("up", "down"))
        assert (
            up in rows
            and down in rows
            and down <= quantity(value, "mm") * (1 + 1e-9)
            and up >= quantity(value, "mm") * (1 - 1e-9)
        )
    assert looked_up([], quantity(1, "mm"), "up", lambda one: one) is None


# --- opening


@lru_cache(maxsize=2)
def openings(system):
    """Return the table of the first placing of patches of a demo job."""
    job = demo(system)
    return opening_table(job, job.file.work.placings[0])


def usable(system, row):
    """Whether a job takes the temperature of a row: it is that for which the materials are heated or cooled, where one is wanted."""
    if openings(system).concrete in {one.name for one in demo(system).mix.prepackaged}:
        return True
    heated = demo(system).mix.inputs.mix.temperature
    wanted = None if heated is None else heated.wanted
    return wanted is None or float(wanted.m_as("degC")) == pytest.approx(float(row.concrete.m_as("degC")))


def placed(system, warm, minutes):
    """Return the whole job with the first placing of patches so much later, its concrete so warm."""
    job = demo(system)
    row = job.file.work.placings[0]
    by = datetime.timedelta(minutes=minutes)
    key = f"placements.{row.placement}"
    after = changed(job, {
        f"{key}.concrete_temperature": f"{float(warm.magnitude):g} °{'F' if system == 'US' else 'C'}",
        f"{key}.start": f"{row.start + by:%Y-%m-%d %H:%M}", f"{key}.end": f"{row.end + by:%Y-%m-%d %H:%M}",
    })  # fmt: skip
    check = next(
        c
        for c in after.curing.checks
        if c.item == f"placing {row.placement}" and c.title.startswith("strength at opening")
    )
    return after.curing[row.placement], check.verdict == "satisfied"


@pytest.mark.parametrize("system", SYSTEMS)
def test_opening_is_that_of_the_whole_job_with_the_temperature_and_the_start_changed(system):
    row = next(one for one in reversed(openings(system).rows) if one.opens and usable(system, one))
    start = openings(system).placing.start
    one, shown = placed(system, row.concrete, 0)
    assert shown and one.moment(one.opens.sure) == row.opens
    late = round((row.start_by - start).total_seconds() / 60)
    assert late % LATER == 0
    assert placed(system, row.concrete, late)[1] and not placed(system, row.concrete, late + LATER)[1]


@pytest.mark.parametrize("system", SYSTEMS)
def test_warmer_is_never_later_and_the_limits_of_placing_are_the_ends(system):
    job, table = demo(system), openings(system)
    cold, hot = (limit.value for limit in job.mix.placing_limits(job.mix[table.concrete]))
    for air in {str(row.air) for row in table.rows}:
        rows = [row for row in table.rows if str(row.air) == air]
        warm = [float(row.concrete.m_as("degC")) for row in rows]
        assert warm == sorted(warm)
        assert warm[0] >= float(cold.m_as("degC")) - 1e-6 and warm[-1] <= float(hot.m_as("degC")) + 1e-6
        known = [row.opens for row in rows if row.opens]
        assert known == sorted(known, reverse=True)
    colder, warmer = (next(r for r in rows if r.opens) for rows in (table.rows, table.rows[len(table.rows) // 2 :]))
    assert colder.air.m_as("degC") < warmer.air.m_as("degC")


def test_colder_air_is_that_of_the_whole_job_with_another_record_of_the_weather(tmp_path):
    """Every hour of the record 5 K colder, written into weather.csv: the same hour of opening."""
    place = shutil.copytree(DEMO["metric"], tmp_path / "job")
    rows = list(csv.reader((place / "weather.csv").open(encoding="utf-8")))
    at = next(i for i, head in enumerate(rows[0]) if head.startswith("air"))
    for row in rows[1:]:
        row[at] = f"{float(row[at]) - 5:.10g}"
    with (place / "weather.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    after = compute(place)
    table = openings("metric")
    row = next(one for one in table.rows if one.opens and usable("metric", one))
    key = f"placements.{table.placing.placement}"
    one = changed(after, {f"{key}.concrete_temperature": f"{float(row.concrete.magnitude):g} °C"}).curing[
        table.placing.placement
    ]
    assert one.moment(one.opens.sure) == row.opens


# --- print


@pytest.mark.parametrize("system", SYSTEMS)
def test_printed_tables_keep_to_the_safe_side_and_end_with_the_engineer(system):
    job = demo(system)
    for closure in job.file.work:
        text = readings.tables(job, closure)
        assert "Outside a table: stop, call the engineer" in text and "do not read between rows" in text
        for row in (row for name in closure.patches for row in patch_tables(job, name).covers):
            deep = row.out >= job.patch.through_from * (1 - 1e-9)
            out = "**call**" if deep else units.show_at_least(row.out, units.Length, job.system)
            saw = units.show_at_most(row.saw, units.Length, job.system)
            assert f"{job.show(row.cover, units.Length)} | {saw} | {out} |" in " ".join(text.split())
        for name in closure.patches:
            found = patch_tables(job, name)
            if job.patch[name].removal is None:
                assert f"**Patch {name}.** Full depth as planned" in text
                continue
            assert f"**from {job.show(found.full_from, units.Length)}** | **full depth: stop, call**" in text
            for group in readings.groups(found.depths):
                cells = readings.depth_cells(job, group)
                if group[0].out is not None and group[0].out > group[0].depth:
                    assert cells[2].startswith(units.show_at_least(group[0].out, units.Length, job.system))
                    assert ("or as read" in cells[2]) == (group[-1].out > group[0].out * (1 + 1e-9))
