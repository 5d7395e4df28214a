"""How well ink stands out from paper."""


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours like '#1a2b3c', from 1 to 21 (WCAG 2, 'contrast ratio')."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def luminance(colour: str) -> float:
    """The relative luminance of a colour, from 0 to 1 (WCAG 2, of sRGB)."""
    red, green, blue = (_linear(int(colour[at : at + 2], 16) / 255) for at in (1, 3, 5))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    # 0.04045 is what sRGB has (IEC 61966-2-1); no colour of 8 bits lies between it and WCAG's.
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)
