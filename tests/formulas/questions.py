"""Hand-picked questions: ordinary, awkward and impossible ones, and those that once found a fault.

``test_twin`` asks Python and the browser all of them; ``vectors`` keeps the answers to some.
"""

from collections.abc import Iterator

from tests.formulas.twin import Case, ask_python, plain

NAN, INF = float("nan"), float("inf")
OZ = 28.349523125


def call(fn: str, *args: object, **kwargs: object) -> Case:
    case: Case = {"fn": fn, "args": plain(args)}
    return case | {"kwargs": plain(kwargs)} if kwargs else case


def cases() -> Iterator[Case]:
    yield from checks()
    yield from rounding()
    yield from units()
    yield from fill()
    yield from load()
    yield from weigh()
    yield from cooling()
    yield from inside()
    yield from cure()
    yield from day()
    yield from batch_code()
    yield from student_t()


def checks() -> Iterator[Case]:
    for value in (5000, 0.95, -273.15, 1e6, 0, 0.001, 1e-6, 12345.678):
        yield call("checks.plain", value)
    odd = (0, -1, 1e-31, 1e308, -1e308, NAN, INF, -INF, "12", "", None, True, [1])
    for name in ("number", "positive", "not_negative", "density"):
        for value in (1, 0.75, *odd):
            yield call(f"checks.{name}", value, "The wax")
    for value in (0, 0.5, 0.25, -0.01, 0.51, *odd):
        yield call("checks.within", value, "The load", 0, 0.5)
    for value in (1, 12, 5000, 5001, 12.5, *odd):
        yield call("checks.whole", value, "The number of vessels", 1, 5000)


def rounding() -> Iterator[Case]:
    halves = (28.25, 28.35, 0.05, 0.15, 2.675, -28.25, -0.05, -0.04, 0, 1e9, 0.1 + 0.2)
    steps = (0.1, 0.01, 0.001, 1, 0.5, 0.25, 0.2, 2, 5, 0.01 * OZ, 0.1 * OZ, 1 / 3)
    for name in ("steps", "round_to", "round_up", "round_down", "write"):
        for value in halves:
            for step in steps:
                yield call(f"rounding.{name}", value, step)
        for value, step in ((NAN, 1), (INF, 1), (1, 0), (1, -1), (1, NAN), (1, INF), (1e308, 1)):
            yield call(f"rounding.{name}", value, step)
        yield call(f"rounding.{name}", "28.25", 0.1)
        yield call(f"rounding.{name}", 28.25, None)
    for count in (283, 3, 0, -7, 1000000):
        for step in steps:
            yield call("rounding.times", count, step)
    yield call("rounding.times", 3, 0)
    for step in (*steps, 10, 1000, 1e-7, 0, -1, NAN, "0.1"):
        yield call("rounding.decimals_of", step)


def units() -> Iterator[Case]:
    def parse(*args: object) -> Case:
        return call("units.parse_quantity", *args)

    for text in (
        *("285 g", "285", " 285g ", "1.5 kg", "1,5 kg", "0,5", ".5", ",5", "500 mg", "1 lb 4 oz"),
        *("1lb4oz", "2 LBS. 3,5 Ounces", "1 1/2 lb", "1½ lb", "½ oz", "¾lb 1/4 oz", "3 grains"),
        *("1 400", "1 400,5 g", "1'400 g", "1.400,5 g", "1,400.5 g", "1,400", "1,400 kg"),
        *("1.400.000 mg", "12,34,5", "1 40", "1. 400", "0,125", "+5 g", "-5 g", "−5 g", "- 5"),
        *("", "   ", "\u00a0", "g", "abc", "12 abc", "10 fl oz", "10 fluid ounces", "2 pints"),
        *(
            "10 US fl oz",
            "10 cc",
            "70 °C",
            "3 in",
            "1/0 lb",
            "1 lb -4 oz",
            "1 lb 4",
            "--5",
            "5 g 5",
        ),
        *("1e308", "1e6", "nan", "inf", "NaN g", "1e", "9999999999999999", "1000001", "1000000"),
        *(
            "285 g\n",
            "285\u00a0g",
            "285\u202fg",
            "\ufeff285 g",
            "285\u0085g",
            "285 g.",
            "٣ g",
            "３ g",
        ),
        *("constructor", "5 constructor", "5 __proto__", "5 toString", "<b>5</b>", "5 “g”", "5;g"),
    ):
        yield parse(text, "mass")
    for text in ("1.5", "4 oz", "10 fl oz", "0", "-1"):
        for unit in ("oz", "lb", "kg", "ml", "lb oz", ""):
            yield parse(text, "mass", unit)
    for text in (
        *("250 ml", "250", "25 cl", "0.25 l", "0,25 Litres", "10 fl oz", "10 Fl. Oz.", "10 floz"),
        *("10 imp fl oz", "10 UK fl oz", "1 pint", "1 pt", "1 US pint 2 fl oz", "15 in³", "15 in3"),
        *("250 cm3", "250 cm³", "250cc", "8 oz", "8 g", "3 inches", "-1 ml", "1000001 ml", ""),
    ):
        for unit in (None, "US fl oz", "imp fl oz", "imp pint"):
            yield parse(text, "volume", unit)
    for text in (
        *("70 °C", "70", "70°", "70C", "70 degrees C", "158 °F", "158F", "158 ℉", "32 F", "-40 F"),
        *("-40", "−40 °C", "343.15 K", "0 K", "-273.15", "-273.16", "-459.67 F", "-460 F", "1000"),
        *("1001", "70 80", "70 °C 5 °F", "70,5", "70 ºC", "70 g", "70 deg", "hot", "", "185 °F"),
    ):
        for unit in (None, "°F", "K"):
            yield parse(text, "temperature", unit)
    for text in ("75 mm", "75", "7,5 cm", '3"', "3 in", "3 1/2 in", "3½″", "0.075 m", "3 ft", ""):
        for unit in (None, "in", "cm"):
            yield parse(text, "length", unit)
    yield parse("5", "weight")
    yield parse("5", "constructor")

    for text in (
        *("7.5", "7,5", " 8 ", "-3", "−3", "+2", "1 400", "1,400", "1.400,5", ".5", "1/2", "½", ""),
        *("8 %", "8%", "8 g", "nan", "inf", "1e308", "1e5", "9999999999999", "٣", "8\u0085", "--8"),
        *("0", "-0", "1 2", "8.", "8,", "99999999999999999999", "abc", "\ufeff8", "8\n"),
    ):
        yield call("units.parse_number", text)

    shown = {
        "mass": ("g", "kg", "mg", "oz", "lb", "gr", "lb oz"),
        "volume": ("ml", "cl", "l", "US fl oz", "imp fl oz", "US pint", "imp pint", "in³"),
        "temperature": ("°C", "°F", "K"),
        "length": ("mm", "cm", "m", "in"),
    }
    for dimension, each in shown.items():
        for unit in each:
            for value in (0, 28.25, 28.349523125, 453.59237, 70.25, 1234.5678, -28.25, NAN, 1e308):
                yield call("units.format_quantity", value, dimension, unit)
                if unit != "lb oz":
                    yield call("units.convert", value, dimension, unit)
            yield call("units.format_quantity", 28.25, dimension, unit, 0.5)
            yield call("units.format_quantity", 28.25, dimension, unit, 0)
    for step in (0.1, 0.5, 1, 0.25, 0.7, 0.0352739619, -1, NAN):
        for value in (566.99, 453.55, 453.59237 - 1e-9, 28.3, 906.7311476300001, 0.001):
            yield call("units.format_quantity", value, "mass", "lb oz", step)
    yield call("units.format_quantity", 5, "mass", "stone")
    yield call("units.format_quantity", 5, "weight", "g")
    yield call("units.format_quantity", "5", "mass", "g")
    yield call("units.convert", 5, "mass", "ml")
    yield call("units.convert", 5, "time", "s")


def fill() -> Iterator[Case]:
    bad = (0, -1, NAN, INF, 1e308, "250 g", "2,5", "")
    for temp in (0, 4, 20, 25.5, 60, -0.1, 60.1, NAN, "20"):
        yield call("fill.water_density", temp)
    for water in (250, 0.1, *bad):
        yield call("fill.water_volume_ml", water, 20)
    yield call("fill.water_volume_ml", 250, 99)
    for args in (
        *((70, 80), (70, 80, 70), (60, 90, 80), (80, 90, 60), (1e-3, 1e-3), (0, 80), (70, -1)),
        *((70, 80, 0), (70, 80, NAN), ("70 mm", 80), (1e308, 1)),
    ):
        yield call("fill.round_volume_ml", *args)
    for args in ((80, 60, 70), (0, 60, 70), (80, NAN, 70), (80, 60, "70"), (80, 60, -70)):
        yield call("fill.box_volume_ml", *args)
    for height in (0, 45, 90, 100, -1, NAN):
        yield call("fill.diameter_at", height, 90, 60, 80)
        yield call("fill.diameter_at", height, 90, 80, 60)
    yield call("fill.diameter_at", 45, 0, 80, 60)
    for volume in (0, 1e-6, 100, 307.8760800517997, 307.9, 350, *bad):
        yield call("fill.round_height_mm", volume, 70, 80)
    for volume in (0, 100, 348, 349):
        yield call("fill.round_height_mm", volume, 60, 90, 80)
        yield call("fill.round_height_mm", volume, 80, 90, 60)
    yield call("fill.round_height_mm", 100, 70, 0)
    for volume in (0, 100, 336, 336.1, *bad):
        yield call("fill.box_height_mm", volume, 80, 60, 70)
    for part in (0.8, 1, 1.01, *bad):
        yield call("fill.label_volume_ml", 300, part)
    yield call("fill.label_volume_ml", -300, 0.8)
    for shares, densities in (
        *(([1], [0.9]), ([70, 30], [0.86, 0.9]), ([1, 0], [0.86, 0.9]), ([], []), ([1], [])),
        *(([0, 0], [0.9, 0.9]), ([1, -1], [0.9, 0.9]), ([1, NAN], [0.9, 0.9]), ([1], [9])),
    ):
        yield call("fill.blend_density", shares, densities)
    for args in (
        *((250, 0.1, 0.86, 0.98), (250, 0, 0.86, 0.98), (250, 0.5, 0.9, 1.05, 0.02)),
        *((0, 0.1, 0.86, 0.98), (-250, 0.1, 0.86, 0.98), (250, 10, 0.86, 0.98), (NAN, 0, 1, 1)),
        *((250, -0.1, 0.86, 0.98), (250, 0.1, 860, 0.98), (250, 0.1, 0.86, 0), (250, 0, 1, 1, 1)),
        *(("250 ml", 0.1, 0.86, 0.98), (1e308, 0.1, 0.86, 0.98)),
    ):
        yield call("fill.fill_masses", *args)
    for args in (
        *((1000, 100, 0.86, 0.98), (1000, 0, 0.86, 0.98), (1000, 80, 0.9, 1.05, 5), (0, 0, 1, 1)),
        *((-1, 0, 1, 1), (1, -1, 1, 1), (1, 1, 0, 1), (1, 1, 1, NAN), (1, 1, 1, 1, -1)),
    ):
        yield call("fill.mix_volume_ml", *args)


def load() -> Iterator[Case]:
    fractions = (0, 0.08, 0.1, 0.5, 1, 1.01, -0.1, 10, NAN, INF, 1e308, "10%", "0,1", "")
    for part in fractions:
        yield call("load.of_total", part)
        yield call("load.of_wax", part)
        yield call("load.fragrance_for", 285, part)
        yield call("load.wax_to_restore", 285, 30, part)
        yield call("load.is_fine_enough", 1500, part, 1)
        yield call("load.least_wax", part, 1)
        yield call("load.count_for_scale", 200, part, 0.1)
    for wax in (0, 0.5, 285, -1, NAN, 1e308, "285 g"):
        yield call("load.fragrance_for", wax, 0.1)
        yield call("load.reached", wax, 28.5)
        yield call("load.wax_to_restore", wax, 28.5, 0.1)
        yield call("load.is_fine_enough", wax, 0.1, 1)
        yield call("load.count_for_scale", wax, 0.1, 1)
        for step in (1, 0.1, 0.01 * OZ, 0, NAN):
            yield call("load.bounds", wax, 28.5, step)
    for oil in (0, 0.4, 30, -1, NAN):
        yield call("load.reached", 285, oil)
        yield call("load.wax_to_restore", 285, oil, 0.1)
        for fine in (None, 0.01, 1, 0, "1 g"):
            yield call("load.bounds", 285, oil, 1, fine)
    for step in (1, 0.1, 0.01 * OZ, 0, -1, NAN):
        yield call("load.least_wax", 0.1, step)
        yield call("load.count_for_scale", 200, 0.08, step)
        yield call("load.is_fine_enough", 550.5, 0.1, step)


def weigh() -> Iterator[Case]:
    third = 100 / 3
    for args in (
        *(([third, third, third], 1), ([third, third, third], 0.1), ([28.25, 28.25], 0.1)),
        *(([28.25, 28.25, 0.5], 0.1, 57), ([], 1), ([], 0.1, 1), ([0, 0], 1), ([0.5, 0.5], 1)),
        *(([2.5, 2.5, 2.5, 2.5], 1), ([10.2, 5.3], 0.01 * OZ), ([1, 2], 1, 9), ([1, 2], 1, 0)),
        *(([1, -2], 1), ([1, NAN], 1), ([1], 0), ([1], NAN), (["1 g"], 1), ([1e308], 1)),
        *(([1.4, 1.4, 1.4], 1, 3), ([1.4, 1.4, 1.4], 1, 6), ([1.4, 1.4, 1.4], 1, NAN)),
    ):
        yield call("weigh.largest_remainder", *args)
    for target in (285, 28.3, 0.3, 5000, 0, -1, NAN, "285"):
        for step in (1, 0.1, 0.01 * OZ, 0):
            yield call("weigh.vessel_band", target, step)
            for part in (0, 0.0005, 0.03, 0.1):
                yield call("weigh.wax_band", target, part, step)
    yield call("weigh.wax_band", 285, 1.1, 1)
    yield call("weigh.wax_band", 285, NAN, 1)
    blend = [["soya", 70], ["beeswax", 30]]
    for wax, part, waxes, step, before in (
        *((1000, 0.1, blend, 1, 0), (1000.4, 0.1, blend, 1, 350), (333.33, 0.08, blend, 0.1, 0)),
        *((1000, 0, [["wax", 1]], 5, 0), (1000, 0.1, [["a", 1], ["b", 0]], 1, 0)),
        *((1000, 0.1, [["a", 1], ["b", 1], ["c", 1]], 1, 12.5), (500, 0.06, blend, 0.01 * OZ, 0)),
        *((1000, 0.1, [["a", 0]], 1, 0), (1000, 0.1, [], 1, 0), (0, 0.1, blend, 1, 0)),
        *((1000, 0.1, [["a", -1]], 1, 0), (1000, 0.1, blend, 0, 0), (1000, 0.1, blend, 1, NAN)),
    ):
        yield call("weigh.wax_targets", wax, part, waxes, step, before)
        yield call("weigh.fragrance_targets", wax, part, waxes, step, before)
    yield call("weigh.fragrance_targets", 282.5, 0.1, [["rose", 1]], 0.1, 632.5)
    yield call("weigh.fragrance_targets", 1000, 0.1, [["rose", 2], ["moss", 1]], 0.1, 0, 100)
    yield call("weigh.fragrance_targets", 1000, 0.1, [["rose", 2], ["moss", 1]], 0.1, 0, 105)
    for additives in ([], [["dye", 0.0005]], [["dye", 0.002], ["UV", 0.01]], [["dye", 0.6]]):
        yield call("weigh.additive_targets", 1000, additives, 0.1, 350)
        yield call("weigh.additive_targets", 0, additives, 1, 0)
    yield call("weigh.additive_targets", -1, [["dye", 0.01]], 1, 0)
    yield call("weigh.additive_targets", 1000, [["dye", "1%"]], 1, 0)
    for args in (
        *(
            (3300, 12, 275, 0, 1),
            (3000, 12, 275, 0, 1),
            (3300, 12, 275, 100, 0.1),
            (99.6, 3, 40, 0, 1),
        ),
        *(
            (100.05, 3, 40, 0, 0.1),
            (50, 3, 40, 60, 1),
            (1, 7, 1, 0, 1),
            (500, 2, 250, 0, 0.01 * OZ),
        ),
        *((0, 3, 40, 0, 1), (100, 0, 40, 0, 1), (100, 2.5, 40, 0, 1), (100, 3, 0, 0, 1)),
        *((100, 3, 40, -1, 1), (100, 3, 40, 0, 0), (NAN, 3, 40, 0, 1), (100, 5001, 40, 0, 1)),
    ):
        mix, count, each, *rest = args
        fills = [each] * int(count) if isinstance(count, int) else [each, 2 * each]
        yield call("weigh.vessel_targets", mix, fills, *rest)
    yield call("weigh.vessel_targets", 1400, [105, 105, 265, 265.5], 5, 0.1)
    yield call("weigh.vessel_targets", 500, [105, 105, 265, 265.5], 5, 1)
    for options in (
        *({}, {"jug_volume_ml": 1500}, {"scale_capacity_g": 2000, "jug_empty_g": 350}),
        *(
            {"jug_volume_ml": 1500, "allowance_g": 20},
            {"jug_volume_ml": 300},
            {"jug_volume_ml": 320},
        ),
        *({"scale_capacity_g": 275}, {"scale_capacity_g": 500, "jug_empty_g": 350}),
        *({"jug_volume_ml": NAN}, {"jug_volume_ml": 0}, {"scale_capacity_g": -1}),
        *({"jug_empty_g": -1}, {"allowance_g": NAN}, {"jug_volume_ml": "1 l"}),
        {"scale_capacity_g": 300.04, "jug_empty_g": 28.25},
    ):
        yield call("weigh.vessels_per_jug", 275, 315.25, **options)
    for wax in (0, 249, 250, 1400, 1e9, -1, NAN, "1400 g"):
        yield call("weigh.count_from_wax", wax, 250)
        yield call("weigh.count_from_wax", wax, 250, load=0.1, allowance_g=20, per_jug=4)
    yield call("weigh.count_from_wax", 1000, 0)
    yield call("weigh.count_from_wax", 1000, 250, per_jug=0)
    yield call("weigh.count_from_wax", 1000, 250, additives=-1)
    yield from plans()
    for wax, oil, part, step, options in (
        *((1000, 110, 0.1, 1, {}), (1000, 90, 0.1, 1, {}), (285, 30, 0.1, 0.1, {"additives_g": 2})),
        *(
            (1000, 110, 0.1, 1, {"jug_volume_ml": 1400}),
            (1000, 110, 0.1, 1, {"jug_volume_ml": 1000}),
        ),
        *((1000, 110, 0.1, 1, {"most_g": [276] * 4}), (1000, 150, 0.1, 1, {"most_g": [276] * 4})),
        *((1000, 110, 0.1, 1, {"allowance_g": 30}), (1000, 110, 0.1, 1, {"allowance_g": NAN})),
        *((1000, 110, 0.1, 1, {"jug_volume_ml": NAN}), (1000, 110, 0.1, 1, {"most_g": ["x"] * 4})),
        *(
            (1000, 110, 0, 1, {}),
            (0, 0, 0.1, 1, {}),
            (1000, -1, 0.1, 1, {}),
            (1000, 110, 0.1, 0, {}),
        ),
        *((1000, 110, 0.1, 1, {"molten_density": 0}), (1000, 110, 0.1, 0.01 * OZ, {})),
    ):
        vessels = {"fills_g": [275] * 4, "most_g": [None] * 4} | options
        yield call("weigh.restore", wax, oil, part, step, **vessels)
    yield call("weigh.restore", 1000, 110, 0.1, 1, fills_g=[], most_g=[])
    yield call("weigh.restore", 1000, 110, 0.1, 1, fills_g=[0], most_g=[None])
    yield call("weigh.restore", 1000, 110, 0.1, 1, fills_g=[105, 265], most_g=[None, 320])


def plans() -> Iterator[Case]:
    blend = {"waxes": [["soya", 70], ["beeswax", 30]], "oils": [["rose", 2], ["moss", 1]]}
    dye = {"additives": [["dye", 0.0005], ["UV", 0.002]]}
    jugs = {"jug_volume_ml": 1500, "jug_empty_g": 352, "scale_capacity_g": 5000, "allowance_g": 15}
    for count, each, part, options in (
        *((12, 285, 0.1, {}), (1, 28.25, 0.1, {"scale_step_g": 0.1}), (7, 161.7, 0, {})),
        *((12, 285, 0.08, jugs), (11, 187.3, 0.09, jugs | blend | dye), (3, 100.13, 0.1, blend)),
        *(
            (3, 100.13, 0.1, {"fragrance_step_g": 0.01}),
            (12, 200, 0.1, {"scale_step_g": 0.01 * OZ}),
        ),
        *((13, 250, 0.06, jugs | {"scale_step_g": 0.1 * OZ, "fragrance_step_g": 0.01 * OZ}),),
        *((5000, 50, 0.1, {"scale_step_g": 5, "jug_volume_ml": 150000}),),
        *((1, 0.2, 0.1, {}), (0, 285, 0.1, {}), (-1, 285, 0.1, {}), (5001, 285, 0.1, {})),
        *((2.5, 285, 0.1, {}), (NAN, 285, 0.1, {}), ("12", 285, 0.1, {}), (12, 0, 0.1, {})),
        *((12, -1, 0.1, {}), (12, NAN, 0.1, {}), (12, INF, 0.1, {}), (12, 1e308, 0.1, {})),
        *((12, "285 g", 0.1, {}), (12, 285, 10, {}), (12, 285, -0.1, {}), (12, 285, NAN, {})),
        *((12, 285, 0.1, {"scale_step_g": 0}), (12, 285, 0.1, {"fragrance_step_g": NAN})),
        *((12, 285, 0.1, {"jug_volume_ml": 200}), (12, 285, 0.1, {"scale_capacity_g": 100})),
        *((12, 285, 0.1, {"waxes": []}), (12, 285, 0.1, {"oils": [["rose", 0]]})),
        *((12, 285, 0.1, {"waxes": [["a", -1]]}), (12, 285, 0.1, {"additives": [["dye", 0.7]]})),
        *((12, 285, 0.1, {"allowance_g": -1}), (12, 285, 0.1, {"molten_density": 860})),
        *((12, 285, 0.1, {"fragrance_density": NAN}), (5000, 1e9, 0.1, {})),
        *((6, 97, 0.08, {"also": [[4, 245]]}), (6, 97, 0.08, jugs | {"also": [[4, 245], [9, 60]]})),
        *((6, 97, 0.08, {"also": [[0, 245]]}), (6, 97, 0.08, jugs | {"also": [[1, 4000]]})),
    ):
        yield call("weigh.plan", count, each, part, **options)


def cooling() -> Iterator[Case]:
    for args in (
        *((65, 1.2e-4, 0), (65, 1.2e-4, 600), (65, 1.2e-4, -600), (65, 1.2e-4, -1e6), (0, 1, 1)),
        *((65, 0, 600), (65, NAN, 600), (65, 1.2e-4, INF), (-5, 1.2e-4, 0), ("65", 1e-4, 0)),
    ):
        yield call("cooling.law.excess", *args)
        yield call("cooling.law.elapsed", args[0], 40, args[1])
    for n in (1, 1 + 1e-12, 1.0001, 1.1, 1.25, 2, 3, 0.99, 3.01, NAN, "5/4", None):
        for seconds in (0, 600, -600, -1e6, 1e9):
            yield call("cooling.law.excess", 65, 3e-4, seconds, n)
        for end in (65, 64.999999, 40, 1e-6, 80, 0, -1):
            yield call("cooling.law.elapsed", 65, end, 3e-4, n)
    for mass in (None, 1000, 250, 0, -1, NAN, "1 kg"):
        yield call("cooling.prior.default_rate", mass)

    def curve(times: list[float], start: float = 65, rate: float = 1.3e-4) -> list[list[float]]:
        line = start**-0.25
        return [[t, round(20 + (line + rate / 4 * t) ** -4, 1)] for t in times]

    five = curve([0, 300, 600, 900, 1200])
    sets: dict[str, list[list[float]]] = {
        "one reading": [[0, 85]],
        "two": [[0, 84.5], [120, 82.1]],
        "two equal": [[0, 84.5], [120, 84.5]],
        "at one time": [[60, 84.5], [60, 84.1]],
        "at one time, the cooler first": [[0, 75], [0, 80], [100, 78]],
        "at one time, far apart": [[0, 84.5], [0, 70.5]],
        "out of order": [[240, 80.3], [0, 84.5], [120, 82.1]],
        "rising a little": [[0, 80], [60, 80.4], [120, 80.7]],
        "rising for long": [[600.0 * index, 70 + 0.9 * index] for index in range(12)],
        "warmed again": [[0, 84.5], [120, 82.1], [300, 88], [420, 85.4]],
        "warmed at the last": [[0, 84.5], [120, 82.1], [300, 88]],
        "already there": curve([0, 600, 1200, 2400, 3600]),
        "a gap of 40 minutes": curve([0, 2400]),
        "500 readings": curve([15.0 * index for index in range(500)]),
        "close to the room": [[0, 20.4], [600, 20.3], [1200, 20.2]],
        "a hair above the room": [[0, 20 + 1e-13], [600, 20 + 1e-14]],
        "a day apart": [[0, 84.5], [86400, 21.2]],
        "years apart": [[0, 84.5], [1e8, 84.1], [9e8, 60]],
        "epoch seconds": [[1.7e8, 84.5], [1.7e8 + 120, 82.1]],
        "negative times": [[-240, 84.5], [-120, 82.1]],
        "very fast": curve([0, 1, 2, 60], 65, 0.1),
        "very slow": curve([0, 600, 6000, 60000], 65, 1e-9),
        "17.4 for 71.4 at the last": [*five[:3], [900, 17.4]],
        "17.4 for 71.4 before it": [five[0], [300, 17.4], *five[2:]],
        "41.7 for 71.4": [*five[:3], [900, 41.7], five[4]],
        "hot base at first": [[0, 93], *five[1:]],
        "hot base between": [*five[:2], [600, five[2][1] + 8], *five[3:]],
        "hot base at the last": [*five[:3], [900, five[3][1] + 8]],
        "half below the room": [[0, 84.5], [60, 17.4]],
        "none": [],
        "too many": [[0, 85]] * 1001,
        "at the room": [[0, 84.5], [60, 20]],
        "below the room": [[0, 15]],
        "not a number": [[0, NAN]],
        "no time": [[NAN, 85]],
        "absurd": [[0, 1e308]],
        "text": [[0, "84,5"]],
    }
    yield call("cooling.forecast.forecast", [[-13, 45]], 5, 6)
    learned = ask_python(call("cooling.learn.learn", five, 20))["value"]
    for readings in sets.values():
        yield call("cooling.forecast.forecast", readings, 20, 70)
        yield call("cooling.forecast.forecast", readings, 20, 60, mass_g=1000)
        yield call("cooling.forecast.forecast", readings, 20, 60, mass_g=800, history=[learned] * 3)
        yield call("cooling.learn.learn", readings, 20)
        yield call("cooling.learn.learn", readings, 20, mass_g=800, history=[learned])
    exact: dict[str, object] = {"thermometer_step_c": 0.001, "handling_c": 0, "room_doubt_c": 0}
    for readings in (sets["one reading"], sets["two"], sets["already there"]):
        for room, target in (
            *((20, 60), (20, 90), (20, 20.5), (20, 20), (20, 10), (70, 60), (-20, 60), (NAN, 60)),
            *((20, NAN), (20, 1e308), (49, 60), (20, "60"), (85, 90), (20, readings[-1][1])),
        ):
            yield call("cooling.forecast.forecast", readings, room, target)
        for options in (
            *({"thermometer_step_c": 1}, {"thermometer_step_c": 5 / 9}, {"mass_g": 250}),
            *({"thermometer_step_c": 0}, {"thermometer_step_c": NAN}, {"mass_g": 0}),
            *({"mass_g": NAN}, {"mass_g": 4000, "thermometer_step_c": 0.5}),
            *({"exponent": n} for n in (1, 1.0001, 1.25, 2, 3, 0.9, 3.1, NAN, "1")),
            *(exact, exact | {"exponent": 1}, exact | {"exponent": 1.25, "mass_g": 1000}),
            *({"handling_c": 5}, {"handling_c": -1}, {"handling_c": NAN}, {"handling_c": None}),
            *({"room_doubt_c": 20}, {"room_doubt_c": -1}, {"room_doubt_c": INF}),
            *({"need_c": 1e-6}, {"need_c": 1}, {"need_c": 100}, {"need_c": 0}, {"need_c": "1"}),
            *({"mass_g": 1000, "history": [[1000, 1.2e-4, 1.25]]}, {"history": [learned]}),
            {"mass_g": 1000, "history": [[500, 1.6e-4, 1.2, 0.01], [2000, 9e-5, 1.3, 0.1, 0.2]]},
            *({"mass_g": 1000, "history": [past]} for past in (
                [], [1000, 1e-4], [1000, 1e-4, 1.2, 0.1, 0.1, 0.1], [0, 1e-4, 1.2], [1, -1, 1.2],
                [1000, 1e-4, 1.2, 0.1, 0.1, 3, 0.1], [1000, 1e-4, 1.2, 0.1, 0.1, 0, 0.1],
                [1000, 1e-4, 1.2, 0.1, 0.1, 0.2, NAN], [1000, 1e-4, 1.2, 0.1, 0.1, 0.2, 0.3, 1],
                [1000, 1e-4, 0.9], [1000, 1e-4, 1.2, 0], [1000, 1e-4, 1.2, 0.1, NAN],
                [1000, "1e-4", 1.2], [1e-3, 1e-29, 3], [1000, 1e9, 1],
            )),
        ):  # fmt: skip
            yield call("cooling.forecast.forecast", readings, 20, 70, **options)
    for options in (
        *({"mass_g": 0}, {"mass_g": None}, {"mass_g": "1 kg"}),
        *({"thermometer_step_c": 1}, {"room_doubt_c": 0}, {"room_doubt_c": NAN}),
        {"history": [[1000, 1e-4]]},
    ):
        yield call("cooling.learn.learn", five, 20, **options)
    yield call("cooling.learn.learn", five, 51)
    for name in ("one reading", "two", "warmed again", "500 readings"):
        forecast = ask_python(call("cooling.forecast.forecast", sets[name], 20, 60))["value"]
        for t in (0, 120, 1800, -60, -1e6, 1e5, NAN):
            yield call("cooling.forecast.temp_at", forecast, t)
        for temp in (80, 60, 21, 20, -20, 301, NAN, "60"):
            yield call("cooling.forecast.time_at", forecast, temp)


def cure() -> Iterator[Case]:
    for day in (
        *("2026-11-25", "2026-12-31", "2027-02-28", "2028-02-28", "2028-02-29", "2000-02-29"),
        *("1900-02-28", "2999-12-31", "2026-02-29", "2026-13-01", "2026-00-10", "2026-04-31"),
        *("9999-12-31", "0000-01-01", "20261125", "2026-W48-3", "25.11.2026", "2026-1-5", ""),
        *("2026-11-25T10:00", " 2026-11-25", "２026-11-25", "tomorrow", "2026-11-25\n"),
    ):
        yield call("cure.ready", day, 14)
        yield call("cure.days_left", day, 14, "2026-11-25")
        yield call("cure.days_left", "2026-11-25", 14, day)
    for days in (0, 1, 365, 366, -1, 1.5, NAN, 1e308, "14", None):
        yield call("cure.ready", "2026-11-25", days)
        yield call("cure.days_left", "2026-11-25", days, "2026-12-01")
    yield call("cure.days_left", "2999-12-31", 365, "2999-12-31")


def day() -> Iterator[Case]:
    zones = (
        *("UTC", "Europe/London", "America/New_York", "America/St_Johns", "Asia/Kathmandu"),
        *("Australia/Lord_Howe", "Pacific/Apia", "Etc/GMT+12", "America/Sao_Paulo"),
    )
    changes = (
        *("2026-03-29", "2026-03-30", "2026-10-25", "2026-03-08", "2026-11-01", "2026-04-05"),
        *("2026-10-04", "2011-12-29", "2011-12-30", "2011-12-31", "2018-11-04", "2028-02-29"),
    )
    for zone in zones:
        for on in (*changes, "2026-12-31"):
            for minute in (0, 90, 150, 540):
                yield call("day.instant", on, minute, zone)
            noon = ask_python(call("day.instant", on, 720, zone))["value"]
            for hours in (-10, -4, 10):
                yield call("day.day_of", noon + hours * 3_600_000, zone)
                yield call("day.after_quiet", noon + hours * 3_600_000, 1260, 480, zone)
                yield call("day.after_quiet", noon + hours * 3_600_000, 60, 150, zone)
    for on in ("1972-12-31", "1973-01-01", "2999-12-31", "3000-01-01", "2026-02-29", "", "soon"):
        yield call("day.instant", on, 540, "UTC")
    for minute in (-1, 1440, 0.5, NAN, "09:00", None, True):
        yield call("day.instant", "2026-11-25", minute, "UTC")
        yield call("day.after_quiet", 1_764_064_800_000, minute, 480, "UTC")
        yield call("day.after_quiet", 1_764_064_800_000, 1260, minute, "UTC")
    odd = (
        *("", "Mars/Olympus", "../etc/passwd", "/etc/passwd", "+01:00", "Europe/", "a b"),
        *("posixrules", "posix/Europe/Lisbon", "right/UTC", "localtime", "Factory", "zone.tab"),
        *("BST", "ist", "SystemV/AST4ADT", "Canada/East-Saskatchewan", "US/Pacific-New"),
        *("europe/lisbon", "utc", "EST", "prc", "GB", "GMT+0", "Etc/GMT-14", "Etc/Unknown"),
        *("Europe/\u212aiev", "Europe/Kyiv", "America/Argentina/Buenos_Aires", "undefined"),
    )
    for zone in odd:
        yield call("day.instant", "2026-11-25", 540, zone)
        yield call("day.day_of", 1_764_064_800_000, zone)
    for at in (
        *(-1, 94_780_799_999, 94_780_800_000, 1_764_064_800_123, 32_503_507_200_000),
        *(32_503_507_200_001, 1_764_064_800_000.5, NAN, INF, "x"),
    ):
        yield call("day.day_of", at, "UTC")
        yield call("day.after_quiet", at, 1260, 480, "Europe/London")
    yield call("day.after_quiet", 1_764_064_800_000, 540, 540, "UTC")


def inside() -> Iterator[Case]:
    """The steps of a forecast that can be asked by themselves."""
    for start, k, seconds, n in (
        *((65, 1.2e-4, 600, 1.25), (65, 1.2e-4, -1e9, 1.25), (65, 1e-4, 1e9, 1), (65, 1, -1e9, 1)),
        *((1e-9, 1e-6, 1e12, 3), (400, 1e-2, 3600, 1.0001), (65, 3e-4, 0, 2)),
    ):
        yield call("cooling.law.excess_after", start, k, seconds, n)
    for start, end, k, n in (
        *((65, 40, 1.2e-4, 1.25), (40, 65, 1.2e-4, 1.25), (65, 64.999999, 1e-4, 1), (65, 1, 1, 3)),
        *((65, 65, 1e-4, 1.0001), (1e-9, 1e-12, 1e-4, 2)),
    ):
        yield call("cooling.law.seconds_between", start, end, k, n)
    past = [1000, 1.3e-4, 1.22, 0.02, 0.03]
    for args in (
        *(
            (None, [], None, 0.5),
            (1000, [], None, 0.5),
            (250, [], 1.25, 0),
            (1000, [past], None, 2),
        ),
        *((800, [past, [600, 1.5e-4, 1.25], [1200, 1.1e-4, 1.2, 0.1]], None, 0.5),),
        *((None, [past], None, 0.5), (1000, [past] * 10, 1, 0.5), (1000, [past], None, -1)),
        *((1000, [[*past, hand, 0.3]] * 3, None, 0.5) for hand in (0.05, 0.4, 1e3)),
        *((1000, [], None, 0.5, hand) for hand in (None, 0, 5, 6, "0.1")),
        *((0, [], None, 0.5), (1000, [], 0.9, 0.5), (1000, [[1, 2]], None, 0.5)),
    ):
        yield call("cooling.prior.prior_for", *args)
    for step, handling in ((0.1, 0.1), (1, 0), (5, 5), (0.001, 0), (0, 0.1), (NAN, 0.1), (0.1, -1)):
        yield call("cooling.readings.noise_of", step, handling)
    for readings in (
        *([[0, 84.5]], [[60, 80], [0, 84.5], [60, 82]], [[0, 84.5], [60, 17.4], [120, 80]]),
        *([], [[0, 15]], [[0, 84.5], [60, 20]], [[0, NAN]], [[NAN, 85]], [[0, 85]] * 1001),
    ):
        yield call("cooling.readings.in_order", readings, 20)


def batch_code() -> Iterator[Case]:
    for day in (
        *("2020-01-01", "2026-11-25", "2028-02-29", "2053-04-23", "2019-12-31", "2053-04-24"),
        *("1999-12-31", "2026-02-29", "25.11.2026", ""),
    ):
        yield call("batch_code.batch_code", day, "k3v9q2axp81xk2ab")
    for id in ("a", "A.b_c-9", "z" * 64, "z" * 65, "", "a b", "ä", "a\n"):
        yield call("batch_code.batch_code", "2026-11-25", id)
    for text in (
        *("4RJ9-989V", "4rj9989v", " 4 R J 9 – 9 B g V ", "4RJ9\u00a0989V\n", "4RJ9—9_8/9.V"),
        *("4RJ9-988V", "R4J9-989V", "4RJ9-98AV", "4RJ9-98ſV", "4RJ9-98９V", "4RJ9-98ßV", "4RJ9😀"),
        *("", " - ", "4RJ9-989", "4RJ9-989V4", "constructor", "OQDILZSG", "BUBUBUBU", "00000001"),
    ):
        yield call("batch_code.read_code", text)
    for values, modulus in (
        *(([1, 2, 3], 23), ([0], 3), ([0], 999), ([22] * 64, 23), ([22] * 65, 23), ([], 23)),
        *(([23], 23), ([-1], 23), ([0.5], 23), ([NAN], 23), (["1"], 23), ([1], 2), ([1], 4)),
        *(([1], 1001), ([1], 23.5), ([1], None), ([1], INF)),
    ):
        yield call("batch_code.check_value", values, modulus)


def student_t() -> Iterator[Case]:
    for df in (1, 2, 4.25, 11, 200, 10_000, 0.5, 10_001, NAN, INF, "3", None):
        for x in (-300, -2.5, -1e-3, 0, 0.3, 1.7, 60):
            yield call("student_t.t_cdf", x, df)
        for p in (1e-6, 0.001, 0.4, 0.5, 0.975, 0.995, 1 - 1e-6):
            yield call("student_t.t_quantile", p, df)
    for odd in (0, 1, 1e-7, NAN, INF, "0.9", None, True):
        yield call("student_t.t_quantile", odd, 3)
    for odd in (NAN, INF, 2e9, "2", None):
        yield call("student_t.t_cdf", odd, 3)
