"""Drawings behind the plan: pages drawn as poppler draws them, hostile ones stopped within bounded memory and time,
and the placing recorded, checked and verified like everything else.

Drawings are made here with pikepdf and Pillow; nothing of them is real.
"""

import io
import json
import random
import resource
import subprocess
import zlib

import pikepdf
import pytest
from PIL import Image, ImageDraw
from program import PROGRAM, TOP, tool

MOST_SECONDS = 40
MOST_MEMORY = 2 << 30


def document(content, box=(0, 0, 842, 595), resources=None, pages=1):
    """A PDF with a page of that content."""
    pdf = pikepdf.new()
    for _ in range(pages):
        page = pikepdf.Dictionary(
            Type=pikepdf.Name.Page,
            MediaBox=list(box),
            Contents=pdf.make_stream(content),
            Resources=resources(pdf) if resources else pikepdf.Dictionary(),
        )
        pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    out = io.BytesIO()
    pdf.save(out)
    return out.getvalue()


def setting_out(words=True):
    """An invented setting-out drawing: an L-shaped outline, its grid, dimension lines and words in a standard font."""

    def resources(pdf):
        font = pikepdf.Dictionary(Type=pikepdf.Name.Font, Subtype=pikepdf.Name.Type1, BaseFont=pikepdf.Name.Helvetica)
        return pikepdf.Dictionary(Font=pikepdf.Dictionary(F1=pdf.make_indirect(font)))

    # Lines of ten pixels and more: poppler snaps strokes to whole pixels, which changes much of a finer line's ink.
    lines = ["4 w", "100 100 m 520 100 l 520 300 l 360 300 l 360 480 l 100 480 l s", "3 w [6 3] 0 d"]
    lines += [f"{100 + 30.5 * n} 100 m {100 + 30.5 * n} 300 l S" for n in range(14)]
    lines += ["[] 0 d 3 w", "100 70 m 520 70 l S"]
    if words:
        lines += ["BT /F1 14 Tf 280 76 Td (8400) Tj ET", "BT /F1 18 Tf 560 520 Td (SETTING OUT rev B) Tj ET"]
    return document("\n".join(lines).encode(), resources=resources)


def cpu_seconds():
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def draw(data, page=1):
    """The page drawn by the program's own child: size, pages and ink; or the exit code and what was said."""
    began = cpu_seconds()
    done = subprocess.run([PROGRAM, "page-to-picture", "--page", str(page)], input=data, capture_output=True, timeout=120)
    # Processor time, not the clock's: how busy the machine is says nothing of the program.
    took = cpu_seconds() - began
    assert took < MOST_SECONDS, took
    if done.returncode:
        return done.returncode, done.stderr.decode(errors="replace")
    head, ink = done.stdout.split(b"\n", 1)
    across, down, pages = map(int, head.split())
    assert len(ink) == across * down
    return Image.frombytes("L", (across, down), ink), pages


def by_poppler(data, size, tmp_path):
    """The same page as poppler draws it, as ink."""
    file = tmp_path / "drawing.pdf"
    file.write_bytes(data)
    done = tool("pdftoppm", "-gray", "-singlefile", "-scale-to-x", size[0], "-scale-to-y", size[1], file, tmp_path / "drawn")
    assert done.returncode == 0, done.stderr
    return Image.open(tmp_path / "drawn.pgm").point(lambda light: 255 - light)


def mean_apart(one, other):
    """How far apart two pictures are on average, once both are a little blurred: a line half a pixel off is no fault."""
    small = (one.width // 8, one.height // 8)
    one, other = (list(picture.resize(small, Image.Resampling.BOX).get_flattened_data()) for picture in (one, other))
    return sum(abs(a - b) for a, b in zip(one, other, strict=True)) / len(one)


def test_a_drawing_looks_as_poppler_draws_it(tmp_path):
    # Without words: a font that the file does not bring along is replaced by whatever each program has at hand.
    data = setting_out(words=False)
    picture, pages = draw(data)
    assert pages == 1
    other = by_poppler(data, picture.size, tmp_path)
    assert picture.size == other.size
    apart = mean_apart(picture, other)
    blank = mean_apart(picture, Image.new("L", picture.size))
    assert blank > 1.0, "there is something on the page"
    assert apart < blank / 6, (apart, blank)
    # The outline's corners, to the pixel: ink on the line, none beside it.
    scale = picture.width / 842
    at = lambda x, y: picture.getpixel((round(x * scale), round((595 - y) * scale)))  # noqa: E731
    assert at(300, 100) > 200 and at(520, 200) > 200 and at(100, 400) > 200
    assert at(450, 400) == 0 and at(20, 20) == 0


def test_a_signed_document_of_the_program_is_drawn_as_poppler_draws_it(tablet, tmp_path):
    ran = tablet.run("demo", "drawn", "--no-window")
    assert ran.code == 0, ran
    file = sorted((tablet.folder / "drawn").glob("**/*.pdf"))[0]
    data = file.read_bytes()
    picture, pages = draw(data)
    assert pages == len(pikepdf.open(file).pages)
    apart = mean_apart(picture, by_poppler(data, picture.size, tmp_path))
    assert apart < 6.0, apart


def bomb(levels):
    """A stream of blanks that grows a thousandfold with every filter."""
    data = b" " * (1 << 28)
    for _ in range(levels):
        data = zlib.compress(data, 9)
    pdf = pikepdf.new()
    stream = pikepdf.Stream(pdf, data)
    out = io.BytesIO()
    stream.stream_dict.Filter = pikepdf.Array([pikepdf.Name.FlateDecode] * levels)
    page = pikepdf.Dictionary(Type=pikepdf.Name.Page, MediaBox=[0, 0, 200, 200], Contents=pdf.make_indirect(stream))
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    pdf.save(out, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    return out.getvalue()


def large_bomb():
    """Ten gigabytes of blanks in some ten megabytes."""
    block = zlib.compressobj(9)
    parts = [block.compress(b" " * (1 << 26)) for _ in range(160)]
    parts.append(block.flush())
    pdf = pikepdf.new()
    stream = pikepdf.Stream(pdf, b"".join(parts))
    stream.stream_dict.Filter = pikepdf.Name.FlateDecode
    page = pikepdf.Dictionary(Type=pikepdf.Name.Page, MediaBox=[0, 0, 200, 200], Contents=pdf.make_indirect(stream))
    pdf.pages.append(pikepdf.Page(pdf.make_indirect(page)))
    out = io.BytesIO()
    pdf.save(out, stream_decode_level=pikepdf.StreamDecodeLevel.none, compress_streams=False)
    return out.getvalue()


def huge_image():
    """An image that claims a hundred thousand pixels either way."""

    def resources(pdf):
        image = pdf.make_stream(b"\0" * 64)
        for key, value in {
            "/Type": pikepdf.Name.XObject,
            "/Subtype": pikepdf.Name.Image,
            "/Width": 100_000,
            "/Height": 100_000,
            "/BitsPerComponent": 8,
            "/ColorSpace": pikepdf.Name.DeviceRGB,
        }.items():
            image.stream_dict[key] = value
        return pikepdf.Dictionary(XObject=pikepdf.Dictionary(Im=image))

    return document(b"200 0 0 200 0 0 cm /Im Do", box=(0, 0, 200, 200), resources=resources)


@pytest.mark.parametrize("name", ["bomb", "double bomb", "ten gigabytes", "huge image", "deep", "many lines"])
def test_hostile_drawings_end_within_bounded_memory_and_time(name):
    data = {
        "bomb": lambda: bomb(1),
        "double bomb": lambda: bomb(2),
        "ten gigabytes": large_bomb,
        "huge image": huge_image,
        "deep": lambda: document(b"[" * 500_000 + b"]" * 500_000),
        "many lines": lambda: document(b"\n".join(b"%d %d m %d %d l S" % (n % 800, 0, (n * 7) % 800, 595) for n in range(30_000))),
    }[name]()
    drawn = draw(data)
    # Either a picture or an end; the child's memory is the system's to tell.
    assert isinstance(drawn[0], Image.Image) or drawn[0] != 0
    used = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss * 1024
    assert used <= MOST_MEMORY + (256 << 20), used


def test_random_damage_never_shows_a_panic_or_a_wrong_size():
    random.seed(4)
    whole = setting_out()
    for _ in range(25):
        data = bytearray(whole)
        for _ in range(random.randint(1, 30)):
            data[random.randrange(5, len(data))] = random.randrange(256)
        draw(bytes(data))


@pytest.fixture()
def site(tablet, tmp_path):
    """A register with a supervisor and the demo's semi on plot 7."""
    folder = tmp_path
    (folder / "pass.txt").write_text("twelve stones and a rod\n")
    (folder / "pin.txt").write_text("4711\n")
    register = folder / "site.gaugerod"
    for args in (
        ["new", register, "--site", "Invented Meadow", "--authority-passphrase-file", folder / "pass.txt"],
        ["enrol", register, "--person", "R. Tarn", "--role", "supervisor", "--pin-file", folder / "pin.txt", "--authority-passphrase-file", folder / "pass.txt"],
    ):
        ran = tablet.run(*args)
        assert ran.code == 0, ran

    def enter(*commands):
        lines = "".join(json.dumps(command) + "\n" for command in commands)
        return tablet.run("enter", register, "--as", "R. Tarn", "--pin-file", folder / "pin.txt", given=lines)

    ran = enter({"do": "issue-design", "file": str(TOP / "assets/demo/semi.toml"), "plots": ["7"]})
    assert ran.code == 0, ran
    return {"register": register, "enter": enter, "folder": folder}


def placing(file, **changed):
    command = {
        "do": "place-underlay",
        "plot": "7",
        "file": str(file),
        "revision": "B",
        "picture_ppm": [[118765, 587886], [617577, 587886]],
        "plan_mm": [[0, 0], [8400, 0]],
    }
    return command | changed


def test_a_drawing_is_placed_recorded_and_checked(tablet, site):
    file = site["folder"] / "setting-out.pdf"
    file.write_bytes(setting_out())
    scan = site["folder"] / "scan.png"
    picture = Image.new("RGB", (900, 600), "white")
    ImageDraw.Draw(picture).line([(100, 500), (800, 500)], fill="black", width=4)
    picture.save(scan)
    ran = site["enter"](placing(file), placing(file, page=1, revision="C"), placing(scan, revision="B1"))
    assert ran.code == 0, ran
    assert len(ran.out.split()) == 6, ran.out
    checked = tablet.run("check", site["register"], "--every")
    assert checked.code == 0, checked


def test_drawings_that_cannot_be_drawn_are_refused_and_nothing_is_recorded(tablet, site):
    before = tablet.run("status", site["register"], "--plot", "7", "--json").json()["root"]
    folder = site["folder"]
    (folder / "two.pdf").write_bytes(document(b"", pages=2))
    (folder / "notes.txt").write_text("no drawing")
    (folder / "damaged.pdf").write_bytes(b"%PDF-1.7\n" + bytes(range(256)))
    (folder / "slender.pdf").write_bytes(document(b"", box=(0, 0, 2100, 100)))
    for command, words in [
        (placing(folder / "two.pdf", page=3), "no page 3"),
        (placing(folder / "notes.txt"), ""),
        (placing(folder / "damaged.pdf"), ""),
        (placing(folder / "slender.pdf"), "20 times"),
        (placing(folder / "none.pdf"), "cannot be read"),
        (placing(folder / "two.pdf", picture_ppm=[[0, 0], [5, 5]]), "hundredth"),
        (placing(folder / "two.pdf", plan_mm=[[0, 0], [0, 99]]), "100 mm"),
        (placing(folder / "two.pdf", revision=" "), "revision"),
    ]:
        ran = site["enter"](command)
        assert ran.code == 1 and words in ran.err and "line 1" in ran.err, (command, ran)
    ran = site["enter"](placing(folder / "two.pdf", plan_mm=[[0, 0], [0, "far"]]))
    assert ran.code == 2 and "/plan_mm" in ran.err, ran
    assert tablet.run("status", site["register"], "--plot", "7", "--json").json()["root"] == before
