"""Readers of facts that stand in print, each with half of its last digit: the crew pages, and all sheets of a bound package."""

import calendar
import datetime
import html
import re
from functools import lru_cache

from deckcalc.core import units
from deckcalc.core.digits import MARK
from deckcalc.job.facts import Found, told
from deckcalc.package import crew

NUMBER = r"((?:\d+ ft )?(?:\d+ )?\d+/\d+|\d+ ft \d+|[\d.]+) ([^\s,;.:|*()]+)"
#: What a crew page says of a fact, by the words about it.
SAID = {
    "printed_area": rf"across traffic, {NUMBER}",
    "printed_order": rf"concrete to mix {NUMBER}",
    "printed_cut": rf"{NUMBER} of cut\.",
    "printed_cover": rf"least cover measured {NUMBER}",
    "printed_deepest": rf"deepest reading {NUMBER}",
    "printed_bars": rf"down to {NUMBER}",
    "printed_bond": rf"{NUMBER} of face",
}


def number(text, unit):
    """Return a printed number with half of its last digit, or of the mark of a tape; of what is printed up with all of it."""
    made = units.unit(unit)
    if unit == "in" and "." not in text:
        return units.read(f"{text} in", units.Length), units.quantity(0.5000001 * MARK, made)
    share = 1.0000001 if unit in ("m³", "yd³") else 0.5000001
    return units.quantity(float(text), made), units.quantity(share * 10.0 ** -len(text.partition(".")[2]), made)


@lru_cache(maxsize=4)
def pages(job):
    """Return the crew page of every patch of the plan."""
    return {name: crew.page(job, name).replace("\u00a0", " ") for name in crew.names(job)}


def said(job, words):
    """Give what the crew pages say of a fact."""
    for name, text in pages(job).items():
        if match := re.search(words, text):
            yield name, number(match[1], match[2])


def wet(job):
    """Give the area of the wet cover, by its printed sides."""
    for name, text in pages(job).items():
        if match := re.search(rf"Wet fabric and sheet {NUMBER} by {NUMBER}", text):
            (a, da), (b, db) = number(match[1], match[2]), number(match[3], match[4])
            yield name, (a * b, a * db + b * da)


PRINTED = {name: lambda job, words=words: said(job, words) for name, words in SAID.items()} | {"printed_wet": wet}


# --- the page of a bound package

#: Facts of patches that tables print: the head of the column that names them, that of the one that holds the fact, what of its cell it is.
COLUMNS = [
    ("hour of opening", "patch", "opens", ".*"), ("hour of opening", "patches in order", "lane open", ".*"),
    ("concrete", "patch", "concrete", ".*"), ("concrete", "patch", "to order, of", r"(?<=, ).*"), ("concrete", "patches", "concrete", ".*"),
    ("class", "patch", "type", r"\w+"), ("class", "patch", "depth", "partial|full"), ("class", "patch", "depth class, h_max/t", r"\w+"),
    ("marked area", "patch", "repair limits", r"(?<=, ).*"), ("volume to order", "patch", "to order, of", "[^,]*"),
    ("volume to order", "patch", "concrete to order", ".*"), ("mixer batches", "patch", "batches", r"\d+"),
]  # fmt: skip
#: The same where patches stand as heads of columns, by the first words of the row.
ROWS = {"wet fabric and sheet": "wet cover", "concrete to mix, waste included": "volume to order"}
#: What paragraphs and cells of a crew page say of its patch.
ON_CREW_PAGES = {
    "hour of opening": r"(?:open|Planned) ([\w ]+ \d{4}, \d{1,2}:\d{2}(?: [ap]\.m\.)?)",
    "marked area": SAID["printed_area"], "volume to order": SAID["printed_order"], "length of the saw cut": SAID["printed_cut"],
    "area to be bonded": SAID["printed_bond"], "deepest reading": SAID["printed_deepest"],
}  # fmt: skip
MONTHS = list(calendar.month_name)


def words(text):
    """Return the words of a part of a page."""
    text = re.sub(r"<math.*?</math>", " ", text, flags=re.S)
    return re.sub(r"\s+", " ", html.unescape(re.sub(r"<(?!/?wbr)[^>]+>|</?wbr/?>", "", text))).strip()


def moment(text):
    """Return a printed local moment in one form; the text itself where it is none."""
    if found := re.search(r"(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2})", text):
        return f"{found[1]} {found[2]}"
    if found := re.search(r"(\d{1,2}) (\w+) (\d{4}), (\d{1,2}):(\d{2})(?: ([ap])\.m\.?)?", text):
        day, month, year, hour, minute, half = found.groups()
        hour = int(hour) if half is None else int(hour) % 12 + 12 * (half == "p")
        return f"{datetime.datetime(int(year), MONTHS.index(month), int(day), hour, int(minute)):%Y-%m-%d %H:%M}"
    return text


def of_cell(fact, item, text, unit, where):
    """Give what a cell says of a fact: a quantity, an hour or a word."""
    if not text or text in "–-" or "not planned" in text:
        return
    place = type("Place", (), {"fact": fact, "place": where})
    tape = re.fullmatch(NUMBER, f"{text} in" if unit == "in" else text)
    if tape and tape[2] == "in":
        yield from told(place, item, number(tape[1], "in"), "")
    elif match := re.fullmatch(r"([\d.]+) ?([^\s\d]*)", text):
        value = (
            number(match[1], unit or match[2])
            if unit or match[2]
            else (units.quantity(float(match[1])), units.quantity(0.0))
        )
        yield from told(place, item, value, "")
    else:
        yield from told(place, item, moment(text), "")


def of_table(table, sheet, names):
    """Give what a table says of the facts of patches."""
    rows = [
        [words(cell) for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)]
        for row in re.findall(r"<tr.*?</tr>", table, re.S)
    ]
    if not rows:
        return
    heads = [re.fullmatch(r"(.*?)(?: \(\d\dT?-\d\d\))?(?: \[(.*)\])?", head) for head in rows[0]]
    titles = [head[1] for head in heads]
    for fact, key, column, part in COLUMNS:
        if key in titles and column in titles:
            at, named = titles.index(column), [row[titles.index(key)] for row in rows[1:] if len(row) == len(titles)]
            if len(set(named)) < len(named):
                continue  # a table of parts
            for row in (row for row in rows[1:] if len(row) == len(titles)):
                for item in re.split(r"[,;] ?", row[titles.index(key)]):
                    if item in names and (said := re.search(part, row[at])):
                        yield from of_cell(fact, item, said[0], heads[at][2], f"{sheet}, column “{column}”")
    for row in rows[1:]:
        what, _, unit = row[0].rpartition(", ")
        if what in ROWS and len(row) == len(titles):
            for item, text in zip(titles, row, strict=True):
                if item in names:
                    yield from of_cell(ROWS[what], item, text, unit, f"{sheet}, row “{what}”")


def of_page(page, names):
    """Return every value of the facts of patches that a bound page prints, as the register of facts holds them."""
    found, sheet, patch = list[Found](), "", ""
    for part in re.findall(r"<h1.*?</h1>|<table.*?</table>|<p>.*?</p>", page, re.S):
        if part.startswith("<h1"):
            sheet = words(part)
            patch = sheet.rpartition(" ")[2] if sheet.startswith("Crew page") else ""
        elif part.startswith("<table"):
            found += of_table(part, sheet, names)
        if patch and not part.startswith("<h1"):
            text = words(part)
            for fact, said in ON_CREW_PAGES.items():
                for match in re.finditer(said, text):
                    groups = [group for group in match.groups() if group]
                    found += of_cell(fact, patch, " ".join(groups), "", sheet)
    return found
