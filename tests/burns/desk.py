"""Asking the pure modules of planning and looking back on a burn test."""

from typing import Any

from tests.bench.conftest import WORKSHOP, Bench, fields_of

Json = Any

RECIPE = fields_of("demo-recipe-slate")


def desk(page: Bench, body: str, given: Json = None) -> Json:
    """Run ``body`` with ``m.test_sheet``, ``m.tested`` and ``m.charts``, ``kept``, the invented
    workshop's materials, and ``given`` as ``g``. A refusal comes back as ``{"refused": sentence,
    "about": what}``."""
    return page.ask(
        """
        const names = ['test_sheet', 'tested', 'charts'];
        return Promise.all(names.map((name) => import(`/burns/${name}.js`))).then((all) => {
          const m = Object.fromEntries(names.map((name, index) => [name, all[index]]));
          const of = (kind) => new Map(g.workshop.filter((each) => each.kind === kind)
            .map(({ id, fields }) => [id, { id, ...fields }]));
          const kept = { vessels: of('vessel'), waxes: of('wax'), oils: of('fragrance'),
            additives: of('additive'), wicks: of('wick') };
          const scales = [...of('scale').values()];
          g = g.given;
          const tried = (make) => {
            try { return make(); } catch (error) {
              if (!(error instanceof b.InputError)) throw error;
              return { refused: error.message, about: error.about };
            }
          };
          BODY
        });
        """.replace("BODY", body),
        {"workshop": WORKSHOP, "given": given},
    )


def wanted(**changed: Json) -> Json:
    """What a test asks for: three candles each of two wicks, of no batch that is kept."""
    return {
        "wicks": ["demo-wick-a", "demo-wick-c"],
        "candles_each": 3,
        "marks_h": [1, 2, 3, 4],
        "width_mm": 62.0,
        "from": [None, None],
    } | changed


def made(page: Bench, asked: list[Json], recipe: Json = RECIPE) -> list[Json]:
    """The sheet of each that is asked for, or its refusal."""
    found: list[Json] = desk(
        page,
        """
        const [recipe, asked] = g;
        return asked.map((wanted) =>
          tried(() => m.test_sheet.makeTestSheet(recipe, kept, wanted, scales)));
        """,
        [recipe, asked],
    )
    return found
