"""The record and its account: what was found and built beside what was planned, what is paid, and what is inspected when."""

from __future__ import annotations

from decimal import Decimal

from deckcalc.core import units
from deckcalc.core.text import plain
from deckcalc.core.units import Area, Length, OrderVolume, Stress
from deckcalc.job import Job
from deckcalc.job.deviations import deviations, tally
from deckcalc.job.holds import Hold, hold_points
from deckcalc.job.payment import CENT, account
from deckcalc.job.record import record_of, recorded
from deckcalc.package.decisions import has_patches
from deckcalc.patch.design import PatchDesign
from deckcalc.show.hand import pipe_table
from deckcalc.show.sections import Text, block, measured

SIGN = "\\_" * 24
#: Tables of the record as they are printed, but for the readings of loggers, of which there are thousands.
PRINTED = {"as_found": "Holes", "as_found_bars": "Bars", "as_built": "Loads", "as_built_cylinders": "Cylinders"}


def lead(job: Job) -> Text:
    """Say what the sheet is, which revision it stands beside, and how a hole was carried."""
    if not recorded(job):
        return Text("")
    record, now = record_of(job), job.file.revision
    latest = record.latest
    moment = f", the last entry of {job.file.work.in_words(latest)}" if latest else ""
    later = latest is not None and latest.date() > now.date
    said = (
        f"Record of {', '.join(record.patches)}{moment}, beside the plan of revision {plain(now.revision)} of {now.date.isoformat()}"
        + (": **the record is later; it becomes part of the package by a new revision.**" if later else ".")
    )
    how = (
        "What was planned is untouched; the job was worked out again, by the same calculations, with what was found. A hole stands about the middle that was planned "
        "unless another was taken, its floor level at the mean of its readings, each at least as deep as its bars ask for; nothing is added for growth and "
        "over-break. A patch that was not measured stays as planned. Hours of the loads stand for the beginning and the end of a placing; where a logger was read, "
        "the opening goes by it, and a pause of it counts as no age."
    )
    return block([said, how, f"{tally(deviations(record))[:1].upper()}{tally(deviations(record))[1:]}."])


def differences(job: Job) -> Text:
    """Table of what differs from the plan, the worst first."""
    if not recorded(job):
        return Text("")
    rows = [
        [f"**{one.words}**" if one.rank == 0 else one.words, ", ".join(one.patches), *(plain(text) for text in one[2:])]
        for one in deviations(record_of(job))
    ]
    return (
        Text(pipe_table(["", "patches", "what", "planned", "found", "difference", "who acts"], rows, "lllllll"))
        if rows
        else Text("Nothing.\n")
    )


def side_by_side(job: Job) -> Text:
    """One row a patch: class, area, depth, concrete and bars, planned and as found."""
    if not recorded(job):
        return Text("")
    record = record_of(job)
    rows = []
    for name in record.patches:
        for word, one, whose in (("planned", job.patch[name], job), ("found", record.found.patch[name], record.found)):
            rows.append([name if word == "planned" else "", word, *row_of(one, whose)])
    return Text(
        pipe_table(
            [
                "patch",
                "",
                "class",
                "area",
                "mean depth of removal",
                "deepest reading",
                "concrete to order",
                "bars added",
            ],
            rows,
            "llllllll",
        )
    )


def row_of(one: PatchDesign, job: Job) -> list[str]:
    """Return what a patch is, as planned or as found."""
    bars = job.steel.bars_in(one.name) if "steel" in job.file.ready and job.of("steel") is not None else []
    added = sum(int(bar.supplement.n.magnitude) for bar in bars if bar.supplement is not None)
    return [
        one.depth_class, job.show(one.limits.A, Area), job.show(one.h, Length), job.show(one.depth.h_max, Length), job.show(one.volume.V_order, OrderVolume), str(added),
    ]  # fmt: skip


def tables(job: Job) -> Text:
    """Print the tables of the record as they were written down."""
    parts = []
    for name, title in PRINTED.items():
        if rows := job.file.rows[name]:
            parts += [f"### {title}", str(measured(rows, job.system, filled=True))]
    return block(parts)


def logs(job: Job) -> Text:
    """One row for each logger: from when to when, what it comes to, and when the strength was reached by it."""
    if not recorded(job) or not (record := record_of(job)).logs:
        return Text("")
    work, rows = job.file.work, []
    for name, log in record.logs.items():
        age, low, mid, _ = log.band.at(float(log.band.hours[-1]))
        sure = "not within its record" if log.opens.sure is None else work.in_words(log.moment(log.opens.sure))
        strengths = [
            job.show(units.quantity(value, "MPa"), Stress) if value == value else "no curve" for value in (mid, low)
        ]
        rows.append(
            [
                name,
                str(len(log.band.hours)),
                f"{work.in_words(log.first)} to {work.in_words(log.last)}",
                job.show(units.quantity(age, "h"), units.Hours),
                *strengths,
                sure,
            ]
        )
    said = f"By {job.settings.curing.maturity} and the curve of the concrete." if job.settings.curing else ""
    heads = [
        "patch",
        "readings",
        "record",
        "equivalent age at its end",
        "strength then",
        "lower edge, which decides",
        "opening strength reached",
    ]
    return block([said, pipe_table(heads, rows, "lrlrrrl")])


def album(job: Job) -> Text:
    """The photographs with the hashes by which each is known."""
    rows = [
        [plain(row.file), row.patch, row.hold, f"{row.sha256[:32]} {row.sha256[32:]}"]
        for row in job.file.rows["photographs"]
    ]
    return Text(pipe_table(["file", "patch", "hold point", "SHA-256"], rows, "llll")) if rows else Text("")


# --- payment


def price(value: Decimal | None) -> str:
    """Return a price to the hundredth at least, as it was written; or that it is to be agreed."""
    return number(value if value is None or -int(value.as_tuple().exponent) > 2 else value.quantize(CENT))


def number(value: Decimal | None) -> str:
    """Return a number of the account; blank where none is agreed."""
    return "to be agreed" if value is None else f"{value:f}".replace("-", "−")


def pay_lead(job: Job) -> Text:
    """Say by what is measured, and what is not yet measured."""
    if (paid := account(job)) is None:
        return Text("")
    want = job.settings.payment
    sides = [f"Contract {plain(want.contract)}."] if want and want.contract else []
    open_ = sorted({part.where for item in paid.items for part in item.parts if not part.measured})
    said = (
        "Quantities are rounded at each patch as printed; every total is the sum of printed lines, every amount a printed quantity times a printed price. Volume is that "
        "of the hole with its undercut, without over-break and waste. "
        + (
            "As built: patches whose concrete is in place by the record; the others count nothing yet."
            if paid.built
            else "Nothing is built by the record: quantities are planned."
        )
    )
    return block(
        [*sides, said, f"Not measured in the hole, and counted as planned: {', '.join(open_)}." if open_ else ""]
    )


def quantities(job: Job) -> Text:
    """Each item with its quantities by patch, planned, as built, and their difference."""
    if (paid := account(job)) is None:
        return Text("")
    rows = []
    for item in paid.items:
        unit = plain(item.row.unit)
        for k, part in enumerate(item.parts):
            head = [item.row.item, plain(item.row.description)] if k == 0 else ["", ""]
            rows.append(
                [*head, part.where, number(part.planned), number(part.built), number(part.built - part.planned), unit]
            )
        rows.append(
            [
                "",
                f"**{plain(item.row.measure)}**",
                "**total**",
                *(f"**{number(value)}**" for value in (item.planned, item.built, item.built - item.planned)),
                unit,
            ]
        )
    return Text(
        pipe_table(["item", "work", "patch or closure", "planned", "as built", "difference", "unit"], rows, "lllrrrl")
    )


def amounts(job: Job) -> Text:
    """The account: planned amounts, then those as built line by line, and their sums."""
    if (paid := account(job)) is None:
        return Text("")
    planned = [
        [
            item.row.item,
            plain(item.row.description),
            number(item.planned),
            plain(item.row.unit),
            price(item.price),
            number(item.planned_amount),
        ]
        for item in paid.items
    ]
    planned.append(["", "**total planned**", "", "", "", f"**{number(paid.planned)}**"])
    built = [
        [line.item, plain(line.what), number(line.quantity), plain(line.unit), price(line.price), number(line.amount)]
        for line in paid.lines
    ]
    built.append(["", "**total as built**", "", "", "", f"**{number(paid.total)}**"])
    heads = [
        "item",
        "work",
        "quantity",
        "unit",
        "price",
        f"amount [{plain(paid.currency)}]" if paid.currency else "amount",
    ]
    left = (
        f"In no total, its price to be agreed: {'; '.join(f'item {line.item}, {number(line.quantity)} {plain(line.unit)}' for line in paid.to_agree)}."
        if paid.to_agree
        else ""
    )
    parts = ["### As planned", pipe_table(heads, planned, "llrlrr")]
    if paid.built:
        parts += [
            "### As built",
            pipe_table(heads, built, "llrlrr"),
            f"Difference to the plan: {number(paid.total - paid.planned)}{f' {plain(paid.currency)}' if paid.currency else ''}.",
            left,
        ]
    return block(parts)


def signatures(job: Job) -> Text:
    """Where both sides sign."""
    if account(job) is None:
        return Text("")
    want = job.settings.payment
    names = [
        (word, plain(name))
        for word, name in (
            ("for the owner", want.owner if want else ""),
            ("for the contractor", want.contractor if want else ""),
        )
    ]
    rows = [[f"{word}{f': {name}' if name else ''}", SIGN, SIGN, SIGN] for word, name in names]
    return block(["Measured together and found right:", pipe_table(["", "name", "signature", "date"], rows, "llll")])


# --- inspection


def inspection(job: Job) -> Text:
    """The inspection and test plan: the hold points of every patch, those that are alike in one row."""
    if not has_patches(job):
        return Text("")
    alike: dict[Hold, list[str]] = {}
    for one in job.patch:
        for hold in hold_points(job, one.name):
            alike.setdefault(hold, []).append(one.name)
    every = [one.name for one in job.patch]
    order = list(dict.fromkeys(hold.when for hold in alike))
    rows = [
        [hold.when, "all" if names == every else ", ".join(names), plain(hold.what), plain(hold.rule), plain(hold.who), plain(hold.record), hold.source]
        for when in order for hold, names in alike.items() if hold.when == when
    ]  # fmt: skip
    said = (
        "Work stops at each of these until the person named has signed; what is not as it must be goes to the engineer. The limits are those of the job; each is written down where the "
        "last column but one says, in a table of the job folder, from which “deckcalc record” makes the record."
    )
    return block(
        [said, pipe_table(["hold", "patches", "what", "must be", "signs", "written down in", "by"], rows, "lllllll")]
    )
