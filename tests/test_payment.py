"""What is measured for payment, by hand counts: quantities patch by patch, amounts, overruns, and their sums."""

import shutil
from decimal import Decimal

import pytest
from samples import DEMO, demo

from deckcalc.base.fields import JobError
from deckcalc.core.sources import folder
from deckcalc.job import compute, result_tables
from deckcalc.job.file import read_job
from deckcalc.job.payment import account
from deckcalc.package import record as sheet

ITEMS = """item,description,measure,unit,price,decimals,overrun [%],overrun price
1,Remove concrete,"area of removal, partial depth",m²,450,2,,
2,"Remove concrete, through","area of removal, full depth",m²,900.50,2,115,
3,Saw cut,saw cut,m,20,1,,
4,Concrete,volume of concrete,m³,1200,3,115,1100
5,Added bars,bars added,kg,6.35,1,,
6,Patches,patches,,75,2,,
7,Closures,closures,,5000,2,,
8,Mobilise,lump sum,,2500,2,,
"""
FOUND = "patch,depths [mm],length [m],width [m]\nP1,93; 93,,\nP3,115; 125,1.10,1.21\n"
BUILT = "load,patches,time,volume [L]\n1,P1,2027-05-08 00:50,180\n2,P3,2027-05-08 02:00,300\n"


def with_tables(place, **tables):
    """Copy the metric demo job with tables in it."""
    made = shutil.copytree(DEMO["metric"], place / "job")
    for name, text in tables.items():
        (made / f"{name}.csv").write_text(text, encoding="utf-8")
    return made


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """The account of a job of which nothing is built."""
    job = compute(with_tables(tmp_path_factory.mktemp("planned"), pay_items=ITEMS))
    return job, account(job)


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """The account of a job of which two patches are built, one of them deeper and longer than planned."""
    job = compute(with_tables(tmp_path_factory.mktemp("built"), pay_items=ITEMS, as_found=FOUND, as_built=BUILT))
    return job, account(job)


def item(paid, number):
    """Return an item of work by its number."""
    return next(one for one in paid.items if one.row.item == number)


def test_planned_quantities_are_counted_by_hand(planned):
    """Areas are sides as they are set out: 1.62 × 1.12, 0.81 × 0.64, 1.02 × 1.21, 1.02 × 0.56 m; 0.90 × 0.75, 0.92 × 0.77 m go through."""
    _, paid = planned
    assert [(part.where, str(part.planned)) for part in item(paid, "1").parts] == [
        ("P1", "1.81"),
        ("P2", "0.52"),
        ("P3", "1.23"),
        ("P5", "0.57"),
    ]
    assert item(paid, "1").planned == Decimal("4.13")
    assert [str(part.planned) for part in item(paid, "2").parts] == ["0.68", "0.71"]  # 0.675 half up, 0.7084
    assert item(paid, "3").planned == Decimal("5.5") + Decimal("2.9") + Decimal("4.5") + Decimal("3.3") + Decimal(
        "2.1"
    ) + Decimal("3.4")
    # one bar of 10 mm, 1.16 m long, at 0.617 kg/m
    assert (item(paid, "5").planned, item(paid, "6").planned, item(paid, "7").planned) == (Decimal("0.7"), 6, 2)
    assert item(paid, "1").planned_amount == Decimal("1858.50")  # 4.13 × 450
    assert item(paid, "2").planned_amount == Decimal("1251.70")  # 1.39 × 900.50 = 1251.695
    assert not paid.built
    assert paid.planned == sum(one.planned_amount for one in paid.items)


def test_as_built_counts_what_was_measured_alone(built):
    """P1 as planned, P3 as found: 1.10 × 1.21 m through a slab of 0.22 m; nothing of the others."""
    _, paid = built
    assert {part.where: str(part.built) for part in item(paid, "1").parts} == {
        "P1": "1.81",
        "P2": "0",
        "P3": "0.00",
        "P5": "0",
    }
    assert {part.where: str(part.built) for part in item(paid, "2").parts} == {"P3": "1.33", "P4": "0", "P6": "0"}
    assert {part.where: str(part.built) for part in item(paid, "4").parts}["P3"] == "0.293"  # 1.331 × 0.22 = 0.29282
    assert {part.where: str(part.built) for part in item(paid, "3").parts}["P3"] == "4.6"  # 2 × (1.10 + 1.21) = 4.62
    assert (item(paid, "6").built, item(paid, "7").built, item(paid, "8").built) == (2, 1, 1)


def test_beyond_an_overrun_the_price_is_another_one(tmp_path):
    """Beyond 115 % of the plan another price holds, the share of United States federal contracts (48 CFR 11.702: 15 % either way)."""
    alone = FOUND.replace("P1,93; 93,,\n", "P1,180; 180,,\n") + "P2,100,,\nP4,200,2.0,1.5\nP5,100,,\nP6,200,2.0,1.5\n"
    loads = BUILT + "".join(
        f"{k},{patch},2027-05-08 0{k}:10,200\n" for k, patch in enumerate(("P2", "P4", "P5", "P6"), 3)
    )
    job = compute(with_tables(tmp_path, pay_items=ITEMS, as_found=alone, as_built=loads))
    paid = account(job)
    concrete = item(paid, "4")
    most = (concrete.planned * Decimal("1.15")).quantize(Decimal("0.001"), "ROUND_FLOOR")
    assert concrete.built > most
    first, beyond = concrete.lines
    assert (first.quantity, first.price) == (most, 1200)
    assert (beyond.quantity, beyond.price) == (concrete.built - most, 1100)
    assert beyond.amount == (beyond.quantity * 1100).quantize(Decimal("0.01"), "ROUND_HALF_UP")
    left = paid.to_agree  # the area that goes through has no price beyond its share
    assert [line.item for line in left] == ["2"]
    assert left[0].amount is None
    assert paid.total == sum(line.amount for line in paid.lines if line.amount is not None)
    assert "to be agreed" in str(sheet.amounts(job))


def test_what_is_printed_adds_up(built):
    """Each printed total is the sum of the printed lines above it; each amount the printed quantity times the printed price."""
    job, paid = built
    number = lambda text: Decimal(text.strip("* ").replace("−", "-"))  # noqa: E731
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")] for line in str(sheet.quantities(job)).splitlines()[2:]
    ]
    sums = [Decimal(0)] * 3
    for row in rows:
        values = [number(cell) for cell in row[3:6]]
        if row[2] == "**total**":
            assert values == sums, row
            sums = [Decimal(0)] * 3
        else:
            sums = [a + b for a, b in zip(sums, values, strict=True)]
            assert values[1] - values[0] == values[2]
    total = Decimal(0)
    built_part = str(sheet.amounts(job)).partition("### As built")[2]
    for line in (line for line in built_part.splitlines() if line.startswith("| ") and "quantity" not in line):
        row = [cell.strip() for cell in line.strip("|").split("|")]
        if "total" in row[1]:
            assert number(row[5]) == total == paid.total
        else:
            assert number(row[5]) == (number(row[2]) * number(row[4])).quantize(Decimal("0.01"), "ROUND_HALF_UP")
            total += number(row[5])
    assert "[crowns]" in str(sheet.amounts(job))  # of the closure


def test_the_account_goes_out_as_tables(built, tmp_path):
    """As CSV and as a spreadsheet, the sums of what went out being those of the sheet."""
    job, paid = built
    tables = result_tables.of_record(job)
    assert set(tables) == {"deviations", "payment", "payment_by_patch"}
    assert Decimal(str(round(float(tables["payment"]["amount"].sum()), 2))) == paid.total
    out = result_tables.write(tables, tmp_path / "csv")
    assert (out / "payment.csv").read_text(encoding="utf-8").splitlines()[0] == "item,what,quantity,unit,price,amount"
    pytest.importorskip("openpyxl")
    assert (result_tables.write(tables, tmp_path / "book", "xlsx") / "results.xlsx").exists()
    assert not result_tables.of_record(demo("metric"))


def test_a_patch_that_nobody_measured_is_said(tmp_path):
    """Its concrete is in place, its hole was not measured: it counts as planned, by name."""
    job = compute(with_tables(tmp_path, pay_items=ITEMS, as_built=BUILT))
    assert "counted as planned: P1, P3" in str(sheet.pay_lead(job))


def test_both_sides_sign(tmp_path):
    """By name, where the job names them; nothing without items of work."""
    job = compute(folder("notebooks") / "small_record")
    text = str(sheet.signatures(job))
    assert "Mill County Roads" in text
    assert "Reed Deck Repairs" in text
    assert not str(sheet.signatures(demo("metric")))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("1,a,saw cut,m²,1,2,,", "pay_items.csv, row 2, column unit: saw cut wants a unit of distance"),
        ("1,a,saw cut,,1,2,,", "pay_items.csv, row 2, column unit"),
        ("1,a,closures,m,1,2,,", "closures are counted"),
        ("1,a,saw cut,m,dear,2,,", "pay_items.csv, row 2, column price"),
        ("1,a,saw cut,m,-1,2,,", "column price"),
        ("1,a,saw cut,m,1,9,,", "column decimals"),
        ("1,a,by eye,m,1,2,,", "column measure: found “by eye”"),
        ("1,a,saw cut,m,1,2,90,", "column overrun"),
        ("1,a,saw cut,m,1,2,,5", "say from which share of the plan it holds"),
        ("1,a,saw cut,m,1,2,,\n1,b,saw cut,m,1,2,,", "item “1” is already in row 2"),
    ],
)  # fmt: skip
def test_bad_items_are_named(tmp_path, line, says):
    """File, row, field, what was found and what would be right."""
    with pytest.raises(JobError) as error:
        read_job(with_tables(tmp_path, pay_items=ITEMS.splitlines()[0] + f"\n{line}\n"))
    assert says in str(error.value)
