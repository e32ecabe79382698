"""Check that a filed document is signed in order and whole or not at all, and that what was altered after signing is named."""

import base64
import datetime
import errno
import hashlib
import io
import json
import os
import pty
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pikepdf
import pytest
from asn1crypto import cms
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from cryptography.hazmat.primitives.serialization import pkcs12
from cryptography.x509.oid import NameOID
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.sign.timestamps import DummyTimeStamper

from deckcalc import cli
from deckcalc.base import replacing
from deckcalc.base.errors import PackageError
from deckcalc.base.signers import ROLES
from deckcalc.cli import signatures as asked
from deckcalc.core.sources import folder
from deckcalc.job import compute
from deckcalc.package import build, carried, signatures, signing

SMALL = folder("notebooks") / "small_patches"
NAMES = {"originator": "M. Alder", "checker": "J. Birch", "engineer": "R. Cedar"}
NOW = datetime.datetime(2026, 12, 1, 9, 30, tzinfo=datetime.timezone(datetime.timedelta(hours=-6)))
HOUR = datetime.timedelta(hours=1)
PHRASE = "a long phrase"


# --- certificates


def named(name):
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name), x509.NameAttribute(NameOID.ORGANIZATION_NAME, "Alder and Reed, invented")])  # fmt: skip


def pair(name, issuer=None, begins="2026-01-01", ends="2029-01-01", usage="sign", key=None):
    """Return a certificate and its key, of an issuer or made by itself."""
    key = key or ec.generate_private_key(ec.SECP256R1())
    by, with_ = (issuer[0].subject, issuer[1]) if issuer else (named(name), key)
    uses = dict.fromkeys(("digital_signature", "content_commitment", "key_encipherment", "data_encipherment", "key_agreement",
                          "key_cert_sign", "crl_sign", "encipher_only", "decipher_only"), False)  # fmt: skip
    uses |= {"sign": {"digital_signature": True, "content_commitment": True}, "root": {"key_cert_sign": True, "crl_sign": True},
             "encrypt": {"key_encipherment": True}, "stamp": {"digital_signature": True}}[usage]  # fmt: skip
    made = (
        x509.CertificateBuilder().subject_name(named(name)).issuer_name(by).public_key(key.public_key())
        .serial_number(x509.random_serial_number()).not_valid_before(datetime.datetime.fromisoformat(begins))
        .not_valid_after(datetime.datetime.fromisoformat(ends))
        .add_extension(x509.BasicConstraints(usage == "root", None), True).add_extension(x509.KeyUsage(**uses), True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), False)
    )  # fmt: skip
    if usage == "stamp":
        made = made.add_extension(x509.ExtendedKeyUsage([x509.oid.ExtendedKeyUsageOID.TIME_STAMPING]), True)
    return made.sign(with_, hashes.SHA256()), key


@pytest.fixture(scope="module")
def root():
    return pair("Root (invented)", usage="root")


@pytest.fixture(scope="module")
def people(root):
    return {role: pair(name, root) for role, name in NAMES.items()}


def signer(people, role):
    return signing.of_pair(*people[role], [])


def in_file(place, made, phrase=PHRASE):
    lock = serialization.BestAvailableEncryption(phrase.encode())
    place.write_bytes(pkcs12.serialize_key_and_certificates(b"x", made[1], made[0], None, lock))
    return place


# --- documents


def job_of(place, paper="a4", decided=True, font="Libertinus Serif"):
    """Make a small job with all names and, if asked for, every open item decided."""
    shutil.copytree(SMALL, place, ignore=shutil.ignore_patterns("package"))
    path = place / "job.toml"
    text = (
        path.read_text()
        .replace("us-letter", paper)
        .replace("[people]", '[people]\nchecker = "J. Birch"\nengineer = "R. Cedar"')
    )
    text = text.replace("[package]", f'[package]\nfont = "{font}"')
    path.write_text(text)
    if decided:
        made = "".join(f"[[decisions]]\nitem = {json.dumps(one.what, ensure_ascii=False)}\ndecision = 'as found'\nby = 'R. Cedar'\ndate = 2026-11-03\n"
                       for one in compute(place).undecided)  # fmt: skip
        path.write_text(text + made)
    return place


@pytest.fixture(scope="module")
def filed(tmp_path_factory):
    return build.build(job_of(tmp_path_factory.mktemp("filed") / "job"), quiet=True, parts=["package"]) / "package.pdf"


def inside(path, given, start):
    """Read a document in this process, as the process of its own does."""
    try:
        if start == carried.START:
            return {name: base64.b64encode(data).decode() for name, data in carried.opened(given).items()}
        trust, _, data = given.partition(b"\n")
        return signatures.found_in(data, [base64.b64decode(one) for one in json.loads(trust)])
    except PackageError as error:
        raise PackageError(f"{path} {error}") from None


@pytest.fixture(scope="module")
def three(filed, people, tmp_path_factory):
    """The filed document with three signatures."""
    out = tmp_path_factory.mktemp("signed") / "package-signed.pdf"
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(carried, "apart", inside)
        for number, role in enumerate(ROLES):
            signing.sign(out if number else filed, signer(people, role), out=out, moment=NOW + number * HOUR)
    return out


@pytest.fixture
def pdf(filed, tmp_path):
    return Path(shutil.copy(filed, tmp_path / "package.pdf"))


@pytest.fixture
def here(filed, monkeypatch):
    """Read in this process, and take the filed document for what its inputs give."""
    monkeypatch.setattr(carried, "apart", inside)
    monkeypatch.setattr(build, "build", lambda *args, **kwargs: filed.parent)


def verified(path, capsys, *more):
    status = cli.main(["verify", str(path), *more])
    said = capsys.readouterr()
    return status, " ".join((said.out + said.err).split())


# --- three signatures


def test_three_signatures_stand_after_the_filed_bytes_and_are_reported(filed, three, capsys):
    assert three.read_bytes().startswith(filed.read_bytes())
    status, said = verified(three, capsys)
    assert status == 0 and "the same, byte for byte" in said
    places = [said.index(f"{role}: whole; {name}") for role, name in NAMES.items()]
    assert places == sorted(places)
    assert "2026-12-01 09:30:00 -0600" in said and "2026-12-01 11:30:00 -0600" in said
    assert "added after it: the signature of the checker, the signature of the engineer" in said
    assert said.count("added after it: nothing") == 1 and "for the licensing board to say" in said
    assert said.count("certificate by Root (invented)") == 3 and "name roots with --trust" in said


def test_the_inputs_come_out_of_a_signed_document(three, filed, tmp_path):
    out = carried.unpack(three, tmp_path / "job")
    assert (out / "job.toml").read_bytes() == (filed.parents[1] / "job.toml").read_bytes()


def test_a_certificate_is_held_against_the_roots_that_are_given(three, root, here, tmp_path, capsys):
    (tmp_path / "root.pem").write_bytes(root[0].public_bytes(serialization.Encoding.PEM))
    status, said = verified(three, capsys, "--trust", str(tmp_path / "root.pem"))
    assert status == 0 and said.count("descends from a trusted certificate") == 3
    (tmp_path / "other.der").write_bytes(
        pair("Root (invented)", usage="root")[0].public_bytes(serialization.Encoding.DER)
    )
    status, said = verified(three, capsys, "--trust", str(tmp_path / "other.der"))
    assert status == 1 and said.count("does not descend from those that are trusted") == 3
    (tmp_path / "none.pem").write_text("-----BEGIN")
    status, said = verified(three, capsys, "--trust", str(tmp_path / "none.pem"))
    assert status == 1 and "holds no certificate" in said


def test_a_self_made_certificate_is_called_that(pdf, here, capsys):
    made = signing.sign(pdf, signing.of_pair(*pair("M. Alder"), []), moment=NOW)
    status, said = verified(made.path, capsys)
    assert status == 0 and "self-made: nobody but the signer says whose it is" in said


def test_a_timestamp_is_asked_for_and_named(pdf, root, people, here, capsys):
    stamp = signing.of_pair(
        *pair("Clock (invented)", root, usage="stamp", key=rsa.generate_private_key(65537, 2048)), []
    )
    stamper = DummyTimeStamper(stamp.signing_cert, stamp.signing_key, fixed_dt=NOW + HOUR)
    made = signing.sign(pdf, signer(people, "originator"), timestamper=stamper, moment=NOW)
    status, said = verified(made.path, capsys)
    assert status == 0 and "time confirmed by Clock (invented)" in said and "15:30:00 +0000" not in said


# --- the block on the cover


@pytest.mark.parametrize(("paper", "font"), [("a4", "Libertinus Serif"), ("us-letter", "New Computer Modern")])
def test_each_block_lies_in_the_row_of_its_role_and_covers_no_print(paper, font, filed, people, tmp_path, monkeypatch):
    monkeypatch.setattr(carried, "apart", inside)
    if paper != "a4":
        filed = build.build(job_of(tmp_path / "job", paper, font=font), quiet=True, parts=["package"]) / "package.pdf"
    out = tmp_path / "signed.pdf"
    longest = {
        **people,
        "checker": pair("Maximiliana-Theodora von der Wolfsschlucht zu Unterlindenbach", None),
    }
    for number, role in enumerate(ROLES):
        signing.sign(out if number else filed, signer(longest, role), out=out, moment=NOW)
    with pikepdf.open(out) as document:
        boxes = {str(one.T): [float(edge) for edge in one.Rect] for one in document.Root.AcroForm.Fields}
        rules = rules_of(document.pages[0])
        for one in document.Root.AcroForm.Fields:
            assert one.AP.N.get("/BBox") is not None and one.P.objgen == document.pages[0].obj.objgen
    printed = words_of(filed)
    for role, (left, low, right, high) in boxes.items():
        assert not [word for word, x, y in printed if left < x < right and low < y < high], role
        assert not [y for y in rules if low < y < high], role
        (row,) = [y for word, x, y in printed if word == role.capitalize() and x < left and 0 < high - y < 45]
        assert any(0 < y - high < 6 for y in rules) and any(0 < low - y < 6 for y in rules), row
    shown = " ".join(word for word, _, _ in words_of(out))
    for words in ("M. Alder", "R. Cedar", "signed digitally 2026-12-01 09:30:00 -0600", "licensing", "board to say."):
        assert words in shown
    assert "Unterlindenbach" in shown.replace("-", "").replace(" ", "")


def words_of(path):
    """Return the words of the first page with the places where they begin."""
    said = subprocess.run(
        ["pdftotext", "-l", "1", "-bbox", str(path), "-"], capture_output=True, text=True, check=True
    ).stdout
    height = float(re.search(r'<page width="[\d.]+" height="([\d.]+)"', said)[1])
    found = re.findall(r'xMin="([\d.]+)" yMin="([\d.]+)" xMax="[\d.]+" yMax="([\d.]+)">(.*?)</word>', said)
    return [(word, float(x), height - (float(y) + float(z)) / 2) for x, y, z, word in found]


def rules_of(page):
    """Return the heights at which a page draws lines across."""
    found, stack, (a, d, f) = set(), [], (1.0, 1.0, 0.0)
    for operands, operator in pikepdf.parse_content_stream(page):
        if str(operator) == "q":
            stack.append((a, d, f))
        elif str(operator) == "Q":
            a, d, f = stack.pop()
        elif str(operator) == "cm":
            _, _, _, d_, _, f_ = map(float, operands)
            d, f = d * d_, f + d * f_
        elif str(operator) == "l":
            found.add(round(f + d * float(operands[1]), 1))
    return found


# --- what was altered after signing is named


def added(data, change):
    """Return a document with a revision more, made by a function of the writer."""
    writer = IncrementalPdfFileWriter(io.BytesIO(data))
    change(writer)
    made = io.BytesIO()
    writer.write(made)
    return made.getvalue()


def page_of(writer, number):
    return writer.root["/Pages"]["/Kids"][number]


def edited_page(writer):
    page = page_of(writer, 1)
    page["/Contents"] = writer.add_object(generic.StreamObject(stream_data=b"BT ET"))
    writer.update_container(page)


def replaced_page(writer):
    pages = writer.root["/Pages"]
    kids = pages["/Kids"]
    pages[generic.pdf_name("/Kids")] = generic.ArrayObject(
        [kids.raw_get(0), kids.raw_get(2), *(kids.raw_get(n) for n in range(2, len(kids)))]
    )
    writer.update_container(pages)


def marked_page(writer):
    page = page_of(writer, 2)
    mark = generic.DictionaryObject({
        generic.pdf_name("/Type"): generic.pdf_name("/Annot"), generic.pdf_name("/Subtype"): generic.pdf_name("/FreeText"),
        generic.pdf_name("/Rect"): generic.ArrayObject(map(generic.NumberObject, (9, 9, 99, 99))), generic.pdf_name("/Contents"): generic.pdf_string("good"),
    })  # fmt: skip
    page[generic.pdf_name("/Annots")] = generic.ArrayObject([writer.add_object(mark)])
    writer.update_container(page)


def field(writer, role):
    return next(one for one in (one.get_object() for one in writer.root["/AcroForm"]["/Fields"]) if one["/T"] == role)


def without_signature(writer):
    one = field(writer, "engineer")
    del one["/V"]
    writer.update_container(one)


def other_block(writer):
    one = field(writer, "originator")
    one["/AP"]["/N"] = writer.add_object(
        generic.StreamObject({generic.pdf_name("/Subtype"): generic.pdf_name("/Form")}, stream_data=b"0 0 9 9 re f")
    )
    writer.update_container(one)


def other_title(writer):
    writer.trailer_view["/Info"][generic.pdf_name("/Title")] = generic.pdf_string("Another package")
    writer.update_container(writer.trailer_view["/Info"])


def one_field_more(writer):
    made = generic.DictionaryObject({
        generic.pdf_name("/FT"): generic.pdf_name("/Tx"), generic.pdf_name("/T"): generic.pdf_string("remark"), generic.pdf_name("/V"): generic.pdf_string("approved"),
        generic.pdf_name("/Type"): generic.pdf_name("/Annot"), generic.pdf_name("/Subtype"): generic.pdf_name("/Widget"),
        generic.pdf_name("/Rect"): generic.ArrayObject(map(generic.NumberObject, (9, 9, 99, 99))),
    })  # fmt: skip
    ref, form, page = writer.add_object(made), writer.root["/AcroForm"], page_of(writer, 3)
    form["/Fields"].append(ref)
    writer.update_container(form["/Fields"])
    page[generic.pdf_name("/Annots")] = generic.ArrayObject([ref])
    writer.update_container(page)
    writer.update_container(form)


def other_input(writer):
    names = writer.root["/Names"]["/EmbeddedFiles"]["/Names"]
    spec = next(names[n + 1] for n in range(0, len(names), 2) if names[n] == "job.toml")
    for key in ("/F", "/UF"):
        if key in spec["/EF"]:
            text = spec["/EF"][key].data.replace(b"SP-1", b"SP-9")
            spec["/EF"][key] = writer.add_object(generic.StreamObject(stream_data=text))
    writer.update_container(spec)


def flipped(data):
    at = data.index(b"/Type/Catalog") if b"/Type/Catalog" in data else data.rindex(b"stream", 0, 200_000) + 400
    spot = data.rindex(b"/Reason")
    return data[:spot] + data[spot:].replace(b"calculation", b"calculatiom", 1) if at else data


def ranges(data):
    return [*re.finditer(rb"/ByteRange ?\[ ?(\d+) (\d+) (\d+) (\d+) ?\]", data)]


def shrunk_range(data):
    last = ranges(data)[-1]
    less = str(int(last[4]) - 10).encode().rjust(len(last[4]), b"0")
    return data[: last.start(4)] + less + data[last.end(4) :]


def contents_at(data, number):
    found = ranges(data)[number]
    return int(found[2]) + 1, int(found[3]) - 1


def other_certificate(data):
    begin, end = contents_at(data, 2)
    info = cms.ContentInfo.load(bytes.fromhex(data[begin:end].decode()), strict=False)
    other = pair("R. Cedar")[0].public_bytes(serialization.Encoding.DER)
    info["content"]["certificates"] = cms.CertificateSet([cms.CertificateChoices.load(other)])
    text = info.dump(force=True).hex().encode()
    return data[:begin] + text.ljust(end - begin, b"0") + data[end:]


def of_another_file(data):
    begin, end = contents_at(data, 2)
    first, last = contents_at(data, 1)
    text = data[first:last].rstrip(b"0")
    return data[:begin] + text.ljust(end - begin, b"0") + data[end:]


ALTERED = {
    "a page edited": (lambda data: added(data, edited_page), "changed after it was made: page 2 is another"),
    "a page replaced": (lambda data: added(data, replaced_page), "changed after it was made: page 2 is another"),
    "a mark on a page": (lambda data: added(data, marked_page), "mark 1 on page 3 was added"),
    "a signature removed": (lambda data: added(data, without_signature), "Not signed by the engineer|bytes stand after the last signature"),
    "a block on the cover": (lambda data: added(data, other_block), "form field 'originator' on page 1 is another"),
    "its title": (lambda data: added(data, other_title), "entry Title of the document is another"),
    "a field of a form": (lambda data: added(data, one_field_more), "form field 'remark' on page 4 was added"),
    "an input": (lambda data: added(data, other_input), "job.toml was altered after it was filed"),
    "a byte": (flipped, "what it signed was altered"),
    "the range that is signed": (shrunk_range, "NOT WHOLE"),
    "the certificate": (other_certificate, "without the certificate that made it|cannot be judged"),
    "a signature of another revision": (of_another_file, "what it signed was altered, or it belongs to another document"),
    "bytes after it": (lambda data: data + b"% more\n", "7 bytes stand after the last signature, which nobody signed"),
}  # fmt: skip


@pytest.mark.parametrize("what", ALTERED)
def test_what_was_altered_after_signing_is_named(what, three, here, tmp_path, capsys):
    change, words = ALTERED[what]
    data = three.read_bytes()
    assert change(data) != data
    (tmp_path / "altered.pdf").write_bytes(change(data))
    status, said = verified(tmp_path / "altered.pdf", capsys)
    assert status == 1 and re.search(words, said), said
    with pytest.raises(PackageError, match="was not signed|signature|altered"):
        signing.sign(tmp_path / "altered.pdf", None)


def test_a_document_cut_back_to_fewer_signatures_says_who_has_not_signed(three, here, tmp_path, capsys):
    data = three.read_bytes()
    last = ranges(data)[1]
    (tmp_path / "cut.pdf").write_bytes(data[: int(last[3]) + int(last[4])])
    status, said = verified(tmp_path / "cut.pdf", capsys)
    assert status == 0 and "Not signed by the engineer." in said and "checker: whole" in said


def test_what_was_altered_before_the_first_signature_is_named(pdf, people, here, tmp_path, capsys):
    pdf.write_bytes(added(pdf.read_bytes(), edited_page))
    with pytest.raises(PackageError, match="the signature that was made is not whole"):
        signing.sign(pdf, signer(people, "originator"), moment=NOW)
    there = signatures.read(pdf, pdf.read_bytes())
    (tmp_path / "by_hand.pdf").write_bytes(
        signing.signed(pdf.read_bytes(), signer(people, "originator"), "originator", there, None, NOW)
    )
    status, said = verified(tmp_path / "by_hand.pdf", capsys)
    assert status == 1 and "changed after it was filed: page 2 is another" in said


# --- a stranger's signatures


def many(writer):
    form = writer.root["/AcroForm"]
    for number in range(200):
        form["/Fields"].append(
            writer.add_object(
                generic.DictionaryObject(
                    {
                        generic.pdf_name("/FT"): generic.pdf_name("/Tx"),
                        generic.pdf_name("/T"): generic.pdf_string(str(number)),
                    }
                )
            )
        )
    writer.update_container(form["/Fields"])
    writer.update_container(form)


def nested(writer):
    one = field(writer, "engineer")
    one[generic.pdf_name("/Kids")] = generic.ArrayObject(
        [one.container_ref and generic.IndirectObject(one.container_ref.idnum, 0, writer)]
    )
    writer.update_container(one)


def der(text):
    def change(data):
        begin, end = contents_at(data, 2)
        return data[:begin] + text.ljust(end - begin, b"0")[: end - begin] + data[end:]

    return change


def first_range(new):
    def change(data):
        last = ranges(data)[-1]
        return data[: last.start(1)] + new.ljust(last.end(4) - last.start(1)) + data[last.end(4) :]

    return change


HOSTILE = {
    "no DER": der(b"ff" * 40), "endless DER": der(b"3084ffffffff"), "nested DER": der(b"3080" * 2000), "an empty one": der(b""),
    "another kind": der(b"300b06092a864886f70d010701"), "no range": first_range(b""), "a range of words": first_range(b"/a /b /c /d"),
    "a negative range": first_range(b"0 -1 5 -9"), "a range beyond": first_range(b"0 9 99999999 9"), "half a range": first_range(b"0 9"),
    "many fields": lambda data: added(data, many), "a field in itself": lambda data: added(data, nested),
}  # fmt: skip


@pytest.mark.parametrize("what", HOSTILE)
def test_a_strange_signature_is_refused_in_words(what, three, here, tmp_path, capsys, monkeypatch):
    (tmp_path / "strange.pdf").write_bytes(HOSTILE[what](three.read_bytes()))
    real = signatures.found_in

    def as_in_its_process(data, trust):
        try:
            return real(data, trust)
        except PackageError:
            raise
        except Exception as error:
            raise PackageError(f"has signatures that cannot be read: {error}") from None

    monkeypatch.setattr(signatures, "found_in", as_in_its_process)
    status, said = verified(tmp_path / "strange.pdf", capsys)
    assert status == 1 and "Traceback" not in said
    assert re.search(
        "cannot be read|cannot be judged|NOT WHOLE|more than any package has|no package has|without the certificate",
        said,
    ), said


def test_the_process_that_reads_signatures_ends_in_words(three, tmp_path, capsys):
    (tmp_path / "strange.pdf").write_bytes(HOSTILE["nested DER"](three.read_bytes()))
    status, said = verified(tmp_path / "strange.pdf", capsys)
    assert status == 1 and "Traceback" not in said and "signature" in said


# --- who may sign, and when


def test_a_draft_is_not_signed_and_says_how_many_open_items_are_undecided(tmp_path, people, capsys):
    draft = build.build(job_of(tmp_path / "job", decided=False), quiet=True, parts=["package"]) / "package.pdf"
    with pytest.raises(PackageError, match=r"not to be signed as it stands.*2 open items are undecided"):
        signing.sign(draft, signer(people, "originator"), moment=NOW)
    assert not draft.with_name("package-signed.pdf").exists()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda m, t: (m, t.replace(b"engineer =", b"licence =")), r"\[people\] of job.toml names no engineer"),
        (lambda m, t: ({**m, "not computed": ["bars: no bars.csv"]}, t), "bars: no bars.csv; a part of it could not be computed"),
        (lambda m, t: ({**m, "comments": [{"number": "4", "status": "open"}, {"number": "5", "status": "answered"}]}, t), "comment 4 unanswered"),
        (lambda m, t: ({**m, "open items": 3}, t), "its manifest or job.toml cannot be read"),
        (lambda m, t: ({**m, "date": "soon"}, t), "names no date of its revision"),
    ],
)  # fmt: skip
def test_what_makes_a_draft_is_named(change, words, pdf, people, here, monkeypatch):
    filed = carried.read_filed(pdf)
    manifest, text = change(filed.manifest, filed.inputs["job.toml"])
    manifest = {**manifest, "inputs": {**manifest["inputs"], "job.toml": hashlib.sha256(text).hexdigest()}}
    monkeypatch.setattr(
        carried, "read_filed", lambda path: carried.Carried(manifest, {**filed.inputs, "job.toml": text}, {})
    )
    with pytest.raises(PackageError, match=words):
        signing.sign(pdf, signer(people, "originator"), moment=NOW)
    assert os.listdir(pdf.parent) == ["package.pdf"]


def test_nobody_signs_out_of_order_or_twice(pdf, three, people, here):
    for role in ("checker", "engineer"):
        with pytest.raises(PackageError, match=f"the {role} signs after the originator, who has not signed yet"):
            signing.sign(pdf, signer(people, role), role, moment=NOW)
    once = signing.sign(pdf, signer(people, "originator"), "originator", moment=NOW)
    assert once.left == ("checker", "engineer") and once.path == pdf.with_name("package-signed.pdf")
    with pytest.raises(PackageError, match=r"the originator has signed already, M\. Alder, .* nobody signs twice"):
        signing.sign(once.path, signer(people, "originator"), "originator", moment=NOW)
    with pytest.raises(PackageError, match="the engineer signs after the checker"):
        signing.sign(once.path, signer(people, "engineer"), "engineer", moment=NOW)
    with pytest.raises(PackageError, match="the engineer has signed already"):
        signing.sign(three, signer(people, "engineer"), moment=NOW + 9 * HOUR)


def test_a_clock_that_went_back_is_refused(pdf, people, here):
    with pytest.raises(PackageError, match="before the date of the revision, 2026-11-02; set the clock"):
        signing.sign(pdf, signer(people, "originator"), moment=NOW - 31 * 24 * HOUR)
    made = signing.sign(pdf, signer(people, "originator"), moment=NOW)
    before = made.path.read_bytes()
    with pytest.raises(PackageError, match="before the originator signed, 2026-12-01 09:30:00 -0600; set the clock"):
        signing.sign(made.path, signer(people, "checker"), moment=NOW - HOUR)
    assert made.path.read_bytes() == before
    signing.sign(made.path, signer(people, "checker"), moment=NOW.astimezone(datetime.UTC))


@pytest.mark.parametrize(
    ("made", "words"),
    [
        ({"ends": "2026-11-30"}, "expired 2026-11-30"), ({"begins": "2027-01-01"}, "not valid before 2027-01-01"),
        ({"usage": "encrypt"}, "for key encipherment, wanted one for digital signature or non-repudiation"),
        ({"key": rsa.generate_private_key(65537, 1024)}, "an RSA key of 1024 bits, wanted 2048 or more"),
    ],
)  # fmt: skip
def test_a_certificate_that_is_not_for_this_is_refused(made, words, pdf, root, here):
    with pytest.raises(PackageError, match=f"certificate of M. Alder.*: {words}"):
        signing.sign(pdf, signing.of_pair(*pair("M. Alder", root, **made), []), moment=NOW)
    assert os.listdir(pdf.parent) == ["package.pdf"]


def test_a_signature_by_an_expired_certificate_is_no_whole_one(pdf, root, here, capsys):
    late = signing.of_pair(*pair("M. Alder", root, ends="2026-06-01"), [])
    there = signatures.read(pdf, pdf.read_bytes())
    pdf.write_bytes(signing.signed(pdf.read_bytes(), late, "originator", there, None, NOW))
    status, said = verified(pdf, capsys)
    assert status == 1 and "its certificate is for 2026-01-01 to 2026-06-01, and it was made 2026-12-01" in said


# --- keys in files, and the passphrase


def test_keys_are_read_from_files_and_faults_name_them(tmp_path, people):
    certificate, key = people["originator"]
    pem, own = tmp_path / "one.pem", tmp_path / "own.pem"
    pem.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    lock = serialization.BestAvailableEncryption(PHRASE.encode())
    form = serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8
    own.write_bytes(key.private_bytes(*form, lock))
    p12 = in_file(tmp_path / "one.p12", people["originator"])
    for made in (signing.signer_of(p12, None, lambda: PHRASE), signing.signer_of(pem, own, lambda: PHRASE)):
        assert signatures.name_of(made.signing_cert.subject) == "M. Alder, Alder and Reed, invented"
    own.write_bytes(key.private_bytes(*form, serialization.NoEncryption()))
    assert signing.signer_of(pem, own, lambda: pytest.fail("asked")).signing_cert is not None
    for args, words in (
        ((p12, None, lambda: "other"), r"one\.p12: the passphrase is another"), ((pem, None, lambda: ""), r"one\.pem: it is no certificate or key"),
        ((p12, own, lambda: PHRASE), "is no PEM"), ((tmp_path / "none.p12", None, lambda: ""), "there is no such file"),
    ):  # fmt: skip
        with pytest.raises(PackageError, match=words):
            signing.signer_of(*args)
    own.write_bytes(people["checker"][1].private_bytes(*form, serialization.NoEncryption()))
    with pytest.raises(PackageError, match="its key is not that of the certificate"):
        signing.signer_of(pem, own, lambda: "")


def test_the_command_reads_the_passphrase_from_standard_input_and_shows_it_nowhere(
    pdf, people, here, monkeypatch, capsys, tmp_path
):
    p12 = in_file(tmp_path / "own.p12", people["originator"])
    command = ["sign", str(pdf), "--certificate", str(p12)]
    monkeypatch.setattr(sys, "stdin", io.StringIO("wrong\n"))
    assert cli.main(command) == 1
    monkeypatch.setattr(sys, "stdin", io.StringIO(""))
    assert cli.main(command) == 1
    said = capsys.readouterr()
    assert "the passphrase is another" in said.err and "its passphrase is wanted" in said.err
    monkeypatch.setattr(sys, "stdin", io.StringIO(PHRASE + "\nmore\n"))
    assert cli.main([*command, "--out", str(tmp_path / "out.pdf")]) == 0
    said = capsys.readouterr()
    assert "Signed as originator by M. Alder" in said.out and "Has yet to sign: checker, engineer." in said.out
    assert "licensing board" in said.out and PHRASE not in said.out + said.err
    assert PHRASE.encode() not in (tmp_path / "out.pdf").read_bytes()
    with pytest.raises(SystemExit):
        cli.main([*command, "--as", "owner"])


@pytest.mark.skipif(os.name != "posix", reason="terminals of POSIX")
def test_a_terminal_is_asked_and_does_not_show_the_passphrase():
    code = "from deckcalc.cli.signatures import passphrase; print('GOT' if passphrase() == 'a long phrase' else 'NOT')"
    child, end = pty.fork()
    if not child:
        os.execv(
            sys.executable,
            [sys.executable, "-c", f"import sys; sys.path.insert(0, {str(Path(cli.__file__).parents[2])!r}); {code}"],
        )
    said = b""
    while b"Passphrase" not in said:
        said += os.read(end, 1000)
    time.sleep(0.2)
    os.write(end, PHRASE.encode() + b"\n")
    while b"GOT" not in said and b"NOT" not in said:
        said += os.read(end, 1000)
    os.close(end)
    os.waitpid(child, 0)
    assert b"GOT" in said and PHRASE.encode() not in said


def test_a_terminal_that_would_show_it_is_refused(monkeypatch):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    def shown(prompt):
        asked.warnings.warn("shown", asked.getpass.GetPassWarning, stacklevel=2)

    monkeypatch.setattr(sys, "stdin", Terminal(PHRASE))
    monkeypatch.setattr(asked.getpass, "getpass", shown)
    with pytest.raises(PackageError, match="cannot be asked for without being shown"):
        asked.passphrase()


# --- the file is whole, whatever happens


def signed_once(pdf, people):
    return signing.sign(pdf, signer(people, "originator"), moment=NOW).path


def test_nothing_is_replaced_but_the_file_that_is_signed_on(pdf, people, here):
    once = signed_once(pdf, people)
    before = once.read_bytes()
    with pytest.raises(
        PackageError, match="stands there already and is not replaced; sign that one on, or name another"
    ):
        signed_once(pdf, people)
    with pytest.raises(PackageError, match="stands there already"):
        signing.sign(once, signer(people, "checker"), out=pdf, moment=NOW)
    assert once.read_bytes() == before
    other = signing.sign(once, signer(people, "checker"), out=pdf.with_name("two.pdf"), moment=NOW).path
    assert once.read_bytes() == before and len(signatures.read(other, other.read_bytes()).signatures) == 2
    assert sorted(os.listdir(pdf.parent)) == ["package-signed.pdf", "package.pdf", "two.pdf"]


@pytest.mark.parametrize(
    "refusal", [errno.ENOSPC, errno.EROFS, errno.EACCES], ids=lambda number: errno.errorcode[number]
)
def test_a_disk_that_refuses_at_any_moment_leaves_the_former_file(refusal, pdf, people, here, monkeypatch):
    from test_outputs import Disk

    once = signed_once(pdf, people)
    before, made = once.read_bytes(), signing.signed
    again = []
    monkeypatch.setattr(signing, "signed", lambda *args: (again or [again.append(made(*args))]) and again[0])
    for number in range(1, 12):
        with pytest.MonkeyPatch.context() as patched:
            disk = Disk(patched, pdf.parent, number, refusal)
            try:
                signing.sign(once, signer(people, "checker"), moment=NOW)
            except PackageError:
                assert once.read_bytes() == before, number
            else:
                assert disk.count < number or once.read_bytes() == again[0]
        replacing.tidy(pdf.parent)
        assert sorted(os.listdir(pdf.parent)) == ["package-signed.pdf", "package.pdf"], number
        once.write_bytes(before)
    assert disk.count < number


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser writes anywhere")
def test_a_folder_that_cannot_be_written_is_named(pdf, people, here):
    os.chmod(pdf.parent, 0o500)
    try:
        with pytest.raises(PackageError, match="cannot be written"):
            signed_once(pdf, people)
    finally:
        os.chmod(pdf.parent, 0o700)


SIGNING = """
import sys
from pathlib import Path
sys.path.insert(0, {root!r})
from deckcalc.base.errors import PackageError
from deckcalc.base.replacing import holding
from deckcalc.package.signing import put
place, text = Path(sys.argv[1]), sys.argv[2].encode()
print("ready", flush=True)
while True:
    read = place.read_bytes()
    try:
        with holding(place, alone=True) as holder:
            new = holder / place.name
            new.write_bytes(read + text)
            put(new, place, read)
    except PackageError:
        continue
    print("signed", flush=True)
"""


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_signings_at_once_lose_none_and_a_killed_one_leaves_a_whole_file(tmp_path):
    place, code = tmp_path / "there" / "signed.pdf", SIGNING.format(root=str(Path(cli.__file__).parents[2]))
    place.parent.mkdir()
    place.write_bytes(b"begin")
    said = {text: tmp_path / text for text in "ab"}
    both = []
    for text, told in said.items():
        with open(told, "wb") as out:
            both.append(subprocess.Popen([sys.executable, "-c", code, str(place), text], stdout=out, stderr=out))
    while any(told.read_bytes().count(b"signed\n") < 20 for told in said.values()):
        time.sleep(0.05)
        assert all(one.poll() is None for one in both), [told.read_text()[-300:] for told in said.values()]
    for one in both:
        os.kill(one.pid, signal.SIGKILL)
        one.wait(timeout=120)
    replacing.tidy(place.parent)
    data = place.read_bytes()
    assert data.startswith(b"begin") and os.listdir(place.parent) == ["signed.pdf"]
    for text, told in said.items():  # a killed one may have put its last and not said so
        times = told.read_bytes().count(b"signed\n")
        assert times <= data[5:].count(text.encode()) <= times + 1


def test_a_second_signing_at_the_same_time_is_refused(pdf, people, here):
    once = signed_once(pdf, people)
    before = once.read_bytes()
    with replacing.holding(once, alone=True), pytest.raises(PackageError, match="another process is at work there"):
        signing.sign(once, signer(people, "checker"), moment=NOW)
    assert once.read_bytes() == before


def test_one_that_comes_between_is_not_lost(pdf, people, here, monkeypatch):
    once, made = signed_once(pdf, people), signing.signed

    def late(*args):
        data = made(*args)
        once.write_bytes(data)
        return data + b"\n"

    monkeypatch.setattr(signing, "signed", late)
    monkeypatch.setattr(signing.carried, "data_of", lambda path, most=0: Path(path).read_bytes().rstrip(b"\n") + b"\n")
    with pytest.raises(PackageError, match="signed or changed meanwhile"):
        signing.sign(once, signer(people, "checker"), moment=NOW)


def test_a_later_revision_leaves_the_signed_file(filed, people, here, tmp_path):
    package = tmp_path / "package"
    shutil.copytree(filed.parent, package)
    signed = signed_once(package / "package.pdf", people)
    assert replacing.strangers(package) == ["package-signed.pdf (not made by deckcalc)"]
    before = signed.read_bytes()
    new = tmp_path / ".new" / "x"
    new.mkdir(parents=True)
    assert replacing.put(new, package, True) == tmp_path / "package-2" and signed.read_bytes() == before
    with pytest.raises(PackageError, match="package-signed.pdf"):
        replacing.free_place(package, False)
