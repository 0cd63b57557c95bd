"""Draws the photographs of the demo: invented scenes of an invented site, each with a plate that says so.

    pip install pillow==13.0.0 numpy==2.4.6
    python draw.py

The pictures are 800 x 600 JPEG files of at most 60 KB with the time of capture in their EXIF block.
dpc-lap.jpg is stored lying on its side with orientation 6, as tablets do.
"""

from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

W, H = 800, 600
HERE = Path(__file__).parent
FONT = HERE.parent.parent / "fonts" / "Inter-SemiBold.ttf"
BRICK, MORTAR, BLOCK, CONCRETE = (158, 88, 66), (196, 190, 178), (150, 150, 146), (176, 175, 170)
SOIL, SAND, SKY = (121, 98, 72), (196, 172, 124), (193, 207, 216)
INSULATION, MEMBRANE, PIPE, STEEL = (226, 222, 210), (44, 78, 128), (214, 176, 40), (96, 92, 90)


class Scene:
    """One picture: painted from back to front, then given grain, vignette and plate."""

    def __init__(self, number: int):
        self.rng = np.random.default_rng(number)
        self.image = Image.new("RGB", (W, H), SKY)
        self.draw = ImageDraw.Draw(self.image)

    def tone(self, colour, spread=10):
        shift = self.rng.normal(0, spread)
        return tuple(int(np.clip(c + shift + self.rng.normal(0, spread / 4), 0, 255)) for c in colour)

    def ground(self, top, colour=SOIL, stones=500):
        self.draw.rectangle((0, top, W, H), fill=colour)
        for _ in range(stones):
            y = top + (H - top) * self.rng.random() ** 0.7
            size = 1 + 9 * (y - top) / (H - top) * self.rng.random()
            x = self.rng.random() * W
            self.draw.ellipse((x - size, y - size * 0.5, x + size, y + size * 0.5), fill=self.tone(colour, 22))

    def masonry(self, box, unit=(72, 22), colour=BRICK, joint=4, shade=1.0):
        x0, y0, x1, y1 = box
        self.draw.rectangle(box, fill=tuple(int(c * shade) for c in MORTAR))
        row, y = 0, y1
        while y > y0:
            x = x0 - (unit[0] // 2 if row % 2 else 0)
            while x < x1:
                left, right = max(x, x0), min(x + unit[0] - joint, x1)
                if right > left:
                    base = tuple(int(c * shade) for c in colour)
                    self.draw.rectangle((left, max(y - unit[1] + joint, y0), right, y), fill=self.tone(base, 9))
                x += unit[0]
            y -= unit[1]
            row += 1

    def staff(self, x, top, bottom, width=34):
        self.draw.rectangle((x, top, x + width, bottom), fill=(238, 234, 224), outline=(60, 60, 60))
        step = 9
        for i, y in enumerate(range(int(bottom), int(top), -step)):
            if i % 2 == 0:
                left = x + (width // 2 if (i // 10) % 2 else 3)
                self.draw.rectangle((left, y - step, left + width // 2 - 3, y), fill=(176, 40, 34) if (i // 20) % 2 else (30, 30, 30))
            if i % 10 == 0:
                self.draw.text((x + width + 4, y - 16), f"{4 + i // 10}", font=ImageFont.truetype(str(FONT), 15), fill=(40, 40, 40))

    def sheet(self, polygon, colour=MEMBRANE, folds=26):
        layer = Image.new("L", (W, H), 0)
        ImageDraw.Draw(layer).polygon(polygon, fill=255)
        paint = Image.new("RGB", (W, H), colour)
        pen = ImageDraw.Draw(paint)
        for _ in range(folds):
            x, y = self.rng.random(2) * (W, H)
            length, lean = 80 + 260 * self.rng.random(), self.rng.normal(0, 40)
            pen.line((x, y, x + length, y + lean), fill=self.tone(colour, 26), width=int(2 + 5 * self.rng.random()))
        self.image.paste(paint.filter(ImageFilter.GaussianBlur(2)), (0, 0), layer)

    def finish(self, name, caption, taken, turned=False):
        pixels = np.asarray(self.image.filter(ImageFilter.GaussianBlur(0.8)), dtype=float)
        y, x = np.mgrid[0:H, 0:W]
        light = 1.06 - 0.28 * ((x / W - 0.45) ** 2 + (y / H - 0.4) ** 2) * 1.6
        grain = self.rng.normal(0, 3.2, (H, W, 1))
        self.image = Image.fromarray(np.clip(pixels * light[..., None] + grain, 0, 255).astype(np.uint8))
        self.draw = ImageDraw.Draw(self.image)
        self.draw.rectangle((0, H - 44, W, H), fill=(250, 249, 244))
        self.draw.text((16, H - 34), caption, font=ImageFont.truetype(str(FONT), 20), fill=(20, 20, 20))
        note = ImageFont.truetype(str(FONT), 16)
        self.draw.text((W - 16, H - 32), "drawn, invented site", font=note, fill=(90, 90, 90), anchor="ra")
        exif = Image.Exif()
        exif[0x010E] = f"{caption} (drawn, invented site)"
        exif[0x0112] = 6 if turned else 1
        stamp = taken.replace("-", ":").replace("T", " ")
        exif[0x0132] = stamp
        exif.get_ifd(0x8769).update({0x9003: stamp, 0x9004: stamp, 0x9011: "+00:00"})
        image = self.image.transpose(Image.Transpose.ROTATE_90) if turned else self.image
        for quality in range(82, 30, -4):
            image.save(HERE / name, quality=quality, exif=exif, optimize=True)
            if (HERE / name).stat().st_size <= 60_000:
                return
        raise SystemExit(f"{name} does not fit into 60 KB")


def main() -> None:
    s = Scene(1)
    s.ground(380, SAND)
    s.masonry((0, 210, 560, 470), (96, 46), BLOCK)
    s.draw.polygon([(560, 210), (800, 150), (800, 560), (560, 470)], fill=(128, 128, 124))
    s.draw.polygon([(0, 210), (60, 190), (640, 184), (560, 210)], fill=CONCRETE)
    s.staff(300, 20, 208)
    s.finish("bearing-wall-staff.jpg", "Bearing wall A, staff on point A3", "2026-09-14T08:41:10")

    s = Scene(2)
    s.ground(420, SAND)
    s.masonry((0, 230, 800, 520), (96, 46), BLOCK)
    s.draw.rectangle((0, 214, 800, 230), fill=CONCRETE)
    s.draw.line((120, 214, 700, 206), fill=(220, 60, 40), width=10)
    s.draw.rectangle((380, 200, 430, 214), fill=(190, 220, 90))
    s.staff(560, 10, 212)
    s.finish("bearing-wall-high.jpg", "Wall B, point B5: bearing stands high", "2026-09-14T09:02:45")

    s = Scene(3)
    s.masonry((0, 330, 800, 556), (96, 46), BLOCK)
    s.masonry((0, 0, 800, 297), (96, 46), BLOCK, shade=0.92)
    s.draw.rectangle((0, 298, 800, 326), fill=(38, 38, 40))
    s.draw.polygon([(300, 292), (520, 292), (520, 320), (300, 320)], fill=(58, 58, 62), outline=(110, 110, 110))
    s.draw.line((300, 282, 520, 282), fill=(235, 200, 40), width=6)
    for i in range(23):
        s.draw.line((300 + i * 10, 272 if i % 5 else 262, 300 + i * 10, 284), fill=(20, 20, 20), width=1)
    s.finish("dpc-lap.jpg", "DPC lap on wall A, rule alongside", "2026-09-15T10:12:00", turned=True)

    s = Scene(4)
    s.masonry((0, 0, 800, 470))
    s.ground(470, SOIL)
    s.draw.rectangle((290, 190, 510, 272), fill=(70, 52, 44), outline=(230, 220, 200), width=5)
    for i in range(1, 12):
        s.draw.line((290 + i * 18, 196, 290 + i * 18, 266), fill=(150, 92, 70), width=6)
    s.draw.line((290, 231, 510, 231), fill=(150, 92, 70), width=6)
    s.finish("vent-sleeve.jpg", "Air brick and sleeve, edge 4", "2026-09-15T11:30:21")

    s = Scene(5)
    s.masonry((0, 0, 800, 470))
    s.ground(470, SOIL)
    s.draw.rectangle((120, 150, 680, 190), fill=CONCRETE)
    s.draw.rectangle((300, 200, 500, 290), fill=(24, 22, 22), outline=(120, 110, 100), width=4)
    s.draw.ellipse((330, 212, 470, 282), fill=(60, 90, 70), outline=(20, 40, 30), width=6)
    s.finish("vent-lintel.jpg", "Lintel over the vent opening, edge 0", "2026-09-15T11:36:02")

    s = Scene(6)
    s.ground(120, SOIL, 2600)
    s.masonry((0, 60, 800, 170), (70, 32), BLOCK)
    s.draw.polygon([(0, 170), (90, 170), (30, 600), (0, 600)], fill=(118, 118, 114))
    s.draw.polygon([(800, 170), (710, 170), (770, 600), (800, 600)], fill=(128, 128, 124))
    s.finish("oversite.jpg", "Oversite stripped and levelled", "2026-09-11T15:20:40")

    s = Scene(7)
    s.ground(90, SAND, 900)
    s.sheet([(0, 110), (800, 90), (800, 600), (0, 600)])
    s.draw.polygon([(380, 100), (440, 98), (500, 600), (410, 600)], fill=(64, 102, 156))
    s.draw.polygon([(436, 98), (452, 98), (530, 600), (498, 600)], fill=(190, 190, 196))
    s.finish("membrane-lap.jpg", "Membrane lap, taped", "2026-09-24T13:05:33")

    s = Scene(8)
    s.masonry((0, 0, 800, 330), (96, 46), BLOCK)
    s.draw.rectangle((0, 330, 800, 600), fill=INSULATION)
    s.draw.ellipse((330, 150, 470, 290), fill=(70, 70, 70), outline=(210, 205, 195), width=12)
    s.draw.polygon([(372, 190), (432, 190), (560, 600), (440, 600)], fill=PIPE)
    s.draw.line((390, 200, 470, 600), fill=(240, 214, 110), width=8)
    s.finish("gas-pipe-sleeve.jpg", "Gas pipe in its sleeve through wall", "2026-09-23T09:48:12")

    s = Scene(9)
    s.draw.rectangle((0, 0, 800, 600), fill=INSULATION)
    s.sheet([(0, 280), (800, 240), (800, 600), (0, 600)])
    s.draw.line((0, 170, 520, 200, 800, 520), fill=(150, 120, 26), width=42, joint="curve")
    s.draw.line((0, 166, 520, 196, 800, 516), fill=PIPE, width=30, joint="curve")
    s.finish("gas-pipe-crossing.jpg", "Gas pipe and membrane edge", "2026-09-23T10:15:55")

    s = Scene(10)
    s.ground(430, SAND)
    s.masonry((0, 330, 800, 470), (96, 46), BLOCK)
    for i in range(7):
        s.draw.rectangle((10 + i * 115, 220, 112 + i * 115, 326), fill=s.tone(BLOCK, 8), outline=MORTAR, width=5)
    s.draw.rectangle((0, 190, 800, 216), fill=CONCRETE)
    s.finish("edge-block.jpg", "Edge blocks along wall A, fully bedded", "2026-09-16T08:20:05")

    s = Scene(11)
    s.draw.rectangle((0, 0, 800, 600), fill=(38, 34, 30))
    for i in range(5):
        x = i * 180 - 30
        s.draw.polygon([(x, 0), (x + 70, 0), (330 + i * 34, 330), (312 + i * 34, 330)], fill=s.tone(CONCRETE, 8))
        s.draw.polygon([(x + 70, 0), (x + 180, 0), (346 + i * 34, 330), (330 + i * 34, 330)], fill=s.tone(INSULATION, 8))
    s.draw.polygon([(0, 600), (0, 430), (300, 345), (520, 345), (800, 430), (800, 600)], fill=SOIL)
    for _ in range(500):
        x, y = s.rng.random() * W, 440 + s.rng.random() * 160
        s.draw.ellipse((x, y, x + 6, y + 3), fill=s.tone(SOIL, 20))
    s.finish("void-before-closing.jpg", "Void before the last row closes it", "2026-09-18T14:44:37")

    s = Scene(12)
    s.ground(200, SOIL, 300)
    for i in range(6):
        x = i * 150 - 40
        s.draw.polygon([(x, 600), (x + 46, 600), (250 + i * 62, 170), (232 + i * 62, 170)], fill=s.tone(CONCRETE, 6))
        s.draw.polygon([(x + 46, 600), (x + 150, 600), (294 + i * 62, 170), (250 + i * 62, 170)], fill=s.tone(INSULATION, 6))
    s.masonry((0, 90, 800, 172), (70, 32), BLOCK)
    s.finish("beams-and-infill.jpg", "Beams and infill, bay run 1", "2026-09-17T16:02:18")

    s = Scene(13)
    s.draw.rectangle((0, 0, 800, 600), fill=INSULATION)
    s.sheet([(0, 140), (800, 140), (800, 600), (0, 600)], (70, 96, 132))
    for i in range(-4, 16):
        s.draw.line((i * 70, 600, 240 + i * 30, 140), fill=STEEL, width=6)
    for i in range(7):
        y = 150 + 14 * i + 8 * i * i
        s.draw.line((0, y, 800, y), fill=STEEL, width=4)
    s.finish("mesh-on-membrane.jpg", "Mesh on spacers over the membrane", "2026-09-25T07:55:00")

    s = Scene(14)
    s.masonry((0, 0, 800, 262))
    s.ground(262, SOIL, 900)
    s.draw.rectangle((0, 250, 800, 268), fill=(36, 36, 38))
    s.draw.rectangle((388, 262, 402, 420), fill=(235, 200, 40))
    for i in range(16):
        s.draw.line((388, 268 + i * 9, 395, 268 + i * 9), fill=(20, 20, 20))
    s.finish("dpc-above-ground.jpg", "DPC above finished outside ground", "2026-09-15T10:31:47")


if __name__ == "__main__":
    main()
