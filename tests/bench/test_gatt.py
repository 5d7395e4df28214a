"""What the bytes of an instrument say, beside the published formats; the rest gets a reason.

The formats: Bluetooth SIG, GATT Specification Supplement, as the SIG's own files of it tell them
(seen in an open copy of 2026): units, flags, ranges of a date, 0x8000 as 'value is not known'.
"""

import struct
from fractions import Fraction

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json

TEMPERATURE, MEASUREMENT, WEIGHT = "temperature", "temperatureMeasurement", "weightMeasurement"


def said(bench: Bench, form: str, *packets: bytes) -> list[Json]:
    answers: list[Json] = bench.page.evaluate(
        """async ([form, packets]) => {
          const gatt = await import('/bench/gatt.js');
          const { worded } = await import('/words/door.js');
          const read = ({ reason, ...rest }) => (reason ? { reason: worded(reason) } : rest);
          // As a browser may give it: a window on a larger buffer.
          const view = (bytes) => {
            const whole = Uint8Array.from([9, ...bytes, 9]);
            return new DataView(whole.buffer, 1, bytes.length);
          };
          return packets.map((bytes) => read(gatt[form](view(bytes))));
        }""",
        [form, [list(packet) for packet in packets]],
    )
    return answers


# ---- the examples ------------------------------------------------------------------------------

# Environmental Sensing, 0x2A6E: computed from the format; 0x8000 seen.
HUNDREDTHS = {"9619": 65.5, "3421": 85.0, "f3fd": -5.25, "0000": 0.0, "ff7f": 327.67}

# Health Thermometer, 0x2A1C. 36.4 and 34.79 seen (second-hand, from notes on IEEE 11073-20601),
# the others computed. With bit 0 the number is in °F.
FLOATS = {
    "006c0100ff": (36.4, "°C"),
    "00970d00fe": (34.79, "°C"),
    "008f0200ff": (65.5, "°C"),
    "01db0500ff": (149.9, "°F"),
    "00f3fdfffe": (-5.25, "°C"),
    "06b21a00fee907050c0e1e0002": (68.34, "°C"),
}

# IEEE 11073-20601: NaN, NRes, +∞, −∞, reserved. From memory, and the same in an open parser.
SPECIAL = ["ffff7f00", "00008000", "feff7f00", "02008000", "01008000"]


def test_hundredths_of_a_degree(bench: Bench) -> None:
    answers = said(bench, TEMPERATURE, *map(bytes.fromhex, HUNDREDTHS))
    assert [answer["value"] for answer in answers] == list(HUNDREDTHS.values())
    assert {answer["step"] for answer in answers} == {0.01}


def test_floats_in_either_unit(bench: Bench) -> None:
    answers = said(bench, MEASUREMENT, *map(bytes.fromhex, FLOATS))
    for answer, (number, unit) in zip(answers, FLOATS.values(), strict=True):
        exactly = Fraction(str(number))
        assert answer["value"] == float(exactly if unit == "°C" else (exactly - 32) * 5 / 9)
    assert [answer["step"] for answer in answers[:4]] == [0.1, 0.01, 0.1, float(Fraction(5, 90))]
    assert [answer["taken"] for answer in answers] == [None] * 5 + ["2025-05-12T14:30:00"]


def test_weights_in_either_unit(bench: Bench) -> None:
    # Weight Scale, 0x2A9D: computed. The pound: NIST SP 811, appendix B.
    packets = map(bytes.fromhex, ["002c00", "013100", "00feff", "000000"])
    answers = said(bench, WEIGHT, *packets)
    pounds = float(Fraction("0.49") * Fraction("453.59237"))
    assert [answer["value"] for answer in answers] == [220, pounds, 327_670, 0]
    assert [answer["step"] for answer in answers] == [5, 4.5359237, 5, 5]


def test_what_stands_for_no_value_is_no_value(bench: Bench) -> None:
    floats = [b"\0" + bytes.fromhex(special) for special in SPECIAL]
    answers = [
        *said(bench, TEMPERATURE, b"\x00\x80"),
        *said(bench, MEASUREMENT, *floats),
        # Weight Scale Service: 'measurement unsuccessful', from memory.
        *said(bench, WEIGHT, b"\x00\xff\xff"),
    ]
    assert all(set(answer) == {"reason"} for answer in answers)
    assert answers[0]["reason"] == "It has no value just now."


def test_beyond_a_bench_is_no_value(bench: Bench) -> None:
    hot = [struct.pack("<h", round(celsius * 100)) for celsius in (-50, -50.01)]
    assert ["value" in answer for answer in said(bench, TEMPERATURE, *hot)] == [True, False]
    tenths = [b"\0" + struct.pack("<i", tenths)[:3] + b"\xff" for tenths in (4000, 4001, -501)]
    answers = said(bench, MEASUREMENT, *tenths)
    assert ["value" in answer for answer in answers] == [True, False, False]


def test_a_date_that_is_none_is_left_out(bench: Bench) -> None:
    reading = bytes.fromhex("02b21a00fe")
    stamps = [(0, 5, 12, 14, 30, 0), (2025, 13, 12, 14, 30, 0), (2025, 5, 12, 24, 0, 0)]
    packets = [reading + struct.pack("<H5B", *stamp) for stamp in stamps]
    for answer in said(bench, MEASUREMENT, *packets):
        assert (answer["value"], answer["taken"]) == (68.34, None)


# ---- anything else -----------------------------------------------------------------------------


def told(form: str, packet: bytes) -> Fraction | None:
    """°C or g by exact arithmetic, from the published formats; None where there is no value."""
    if form == TEMPERATURE:
        if len(packet) != 2 or packet == b"\x00\x80":
            return None
        number = Fraction(struct.unpack("<h", packet)[0], 100)
        return number if -50 <= number <= 400 else None
    if packet == b"":
        return None
    flags = packet[0]
    stamp, byte, last = (flags >> bit & 1 for bit in (1, 2, 3))
    if form == WEIGHT:
        size, known = 3 + 7 * stamp + byte + 4 * last, 0x0F
    else:
        size, known = 5 + 7 * stamp + byte, 0x07
    if len(packet) < size or (len(packet) > size and flags & ~known == 0):
        return None
    if form == WEIGHT:
        steps = packet[1] + 256 * packet[2]
        each = Fraction("4.5359237") if flags & 1 else Fraction(5)
        return None if steps == 0xFFFF else steps * each
    mantissa = int.from_bytes(packet[1:4], "little", signed=True)
    exponent = int.from_bytes(packet[4:5], "little", signed=True)
    if abs(mantissa) >= 2**23 - 2 or not -6 <= exponent <= 1:
        return None
    number = mantissa * Fraction(10) ** exponent
    celsius = (number - 32) * 5 / 9 if flags & 1 else number
    return celsius if -50 <= celsius <= 400 else None


def a_float() -> st.SearchStrategy[bytes]:
    """Packets that are nearly always read: random bytes hardly ever are."""
    mantissas = st.integers(-600_000, 600_000).map(lambda each: struct.pack("<i", each)[:3])
    exponents = st.integers(-5, 1).map(lambda each: struct.pack("b", each))
    flags = st.sampled_from([b"\0", b"\1", b"\2", b"\7", b"\xf8"])
    return st.builds(
        lambda *parts: b"".join(parts), flags, mantissas, exponents, st.binary(max_size=9)
    )


PACKETS = st.lists(st.binary(max_size=20) | st.binary(min_size=2, max_size=3) | a_float())


@settings(max_examples=60, suppress_health_check=list(HealthCheck))
@given(PACKETS)
def test_any_bytes_give_the_nearest_number_or_a_reason(bench: Bench, packets: list[bytes]) -> None:
    for form in (TEMPERATURE, MEASUREMENT, WEIGHT):
        for packet, answer in zip(packets, said(bench, form, *packets), strict=True):
            expected = told(form, packet)
            if expected is None:
                assert set(answer) == {"reason"}, (form, packet.hex(), answer)
                assert answer["reason"].endswith(".")
                continue
            assert answer["value"] == float(expected), (form, packet.hex(), answer)
            assert 0 < answer["step"] <= 10
            if answer["taken"] is not None:
                assert len(answer["taken"]) == 19
