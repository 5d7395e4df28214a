"""Pictures of codes, as they stand on labels and lie in photos."""

import io

import barcode
import segno
from barcode.writer import ImageWriter
from PIL import Image, ImageDraw


def written(image: Image.Image, kind: str = "PNG") -> bytes:
    out = io.BytesIO()
    image.save(out, kind)
    return out.getvalue()


def of_bytes(content: bytes) -> Image.Image:
    return Image.open(io.BytesIO(content)).convert("RGB")


def qr(text: str, **how: int) -> Image.Image:
    out = io.BytesIO()
    segno.make_qr(text).save(out, kind="png", **{"scale": 6, **how})
    return of_bytes(out.getvalue())


def code_128(text: str) -> Image.Image:
    out = io.BytesIO()
    barcode.get("code128", text, writer=ImageWriter()).write(out)
    return of_bytes(out.getvalue())


def on_a_table(image: Image.Image, turned: float = 0) -> Image.Image:
    """Somewhere in a photo, and not quite straight."""
    photo = Image.new("RGB", (1600, 1200), (142, 118, 96))
    ImageDraw.Draw(photo).rectangle((300, 200, 1300, 1000), fill=(240, 238, 231))
    turned_image = image.rotate(turned, expand=True, fillcolor=(240, 238, 231))
    photo.paste(turned_image, (500, 350))
    return photo
