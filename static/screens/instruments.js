/** The thermometer and the scale that read themselves: connecting, what they read now, forgetting. */
import { now } from "../bench/clock.js";
import { canConnect, connect, connectionOf, forget } from "../bench/instruments.js";
import { message, t, worded } from "../words/door.js";
import { h, setText } from "./dom.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/instruments.js").Kind} Kind */

/** @typedef {import("../words/door.js").Message} Message */

/** @type {Record<Kind, {name: Message, connect: Message, dimension: import("../bench/display_units.js").Dimension, help: Message}>} */
const ABOUT = {
  temperature: {
    name: message("Thermometer"),
    connect: message("Connect a thermometer"),
    dimension: "temperature",
    help: message(
      "Leave it in the jug, and it reads the wax by itself every half minute. With several jugs, you take the readings.",
    ),
  },
  weight: {
    name: message("Scale"),
    connect: message("Connect a scale"),
    dimension: "mass",
    help: message(
      "The open form of a weight goes by 5\u00a0g: too coarse for fragrance. It is offered only where that will do.",
    ),
  },
};

/** @param {HTMLElement} place @param {DisplayUnits} units @returns {() => void} to be called on leaving */
export function drawInstruments(place, units) {
  const always = h("p", { class: "help" }, t("You can always use the number pad too."));
  if (!canConnect()) {
    const not = t(
      "This browser can't connect Bluetooth instruments. Chrome can, on Android and on most computers. Firefox " +
        "and the iPhone's browsers can't.",
    );
    place.replaceChildren(h("p", {}, not), always);
    return () => undefined;
  }
  const cards = /** @type {Kind[]} */ (["temperature", "weight"]).map((kind) => cardOf(kind, units));
  place.replaceChildren(...cards.map(({ card }) => card), always);
  const timer = setInterval(() => cards.forEach(({ draw }) => draw()), 500);
  return () => clearInterval(timer);
}

/** @param {Kind} kind @param {DisplayUnits} units */
function cardOf(kind, units) {
  const { name, connect: connectOne, dimension, help } = ABOUT[kind];
  const [over, called, reads, age] = ["line", "name", "", "under"].map((look) =>
    h(look ? "span" : "b", { class: look || null }),
  );
  const trouble = h("p", { class: "beware notice" });
  const choose = h("button", { type: "button", class: "quiet", onclick: () => void connect(kind).then(draw) });
  const leaveOff = () => {
    forget(kind);
    draw();
  };
  const away = h("button", { type: "button", class: "quiet", onclick: leaveOff }, t("Forget"));
  const card = h(
    "div",
    { class: "field" },
    h("div", { class: "card" }, h("span", { class: "what" }, called, over), h("span", { class: "value" }, reads, age)),
    h("div", { role: "status" }, trouble),
    h("p", { class: "help" }, worded(help)),
    h("p", { class: "links" }, choose, away),
  );

  function draw() {
    const { name: source, connection, trouble: wrong, last } = connectionOf(kind);
    const instrument = worded(name);
    const stands = {
      none: source ? t("{instrument}, not connected", { instrument }) : instrument,
      reaching: t("{instrument}, connecting", { instrument }),
      connected: t("{instrument}, connected", { instrument }),
      lost: t("{instrument}, connection lost, trying again", { instrument }),
    }[connection];
    setText(over, stands);
    setText(called, source || t("none"));
    setText(reads, last ? units.text(last.value, dimension, last.step) : "");
    setText(age, last ? ageText((now() - last.at) / 1000) : "");
    setText(trouble, wrong || (last?.doubt ?? ""));
    trouble.hidden = trouble.textContent === "";
    setText(choose, source ? t("Connect another") : worded(connectOne));
    away.hidden = source === "";
  }
  draw();
  return { card, draw };
}

/** @param {number} seconds */
function ageText(seconds) {
  if (seconds < 5) return t("now");
  return seconds < 90 ? t("{n} s ago", { n: Math.round(seconds) }) : t("{n} min ago", { n: Math.round(seconds / 60) });
}
