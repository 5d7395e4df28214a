/** Who may come in: the paired devices, and a code for another one. */

import { phoneNow } from "../bench/clock.js";
import { svg } from "../bench/svg.js";
import { ask, NoSignal, paired, ServerError } from "../records/exchange.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";

/** @typedef {{id: string, name: string, seen_ms: number, revoked_ms: number | null, this: boolean}} Device */

const LOOK_MS = 4000;
const MARGIN = 4;

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-devices"));
  const before = await paired();
  const [trouble, cards, invited, add, pair] = ["trouble", "cards", "invited", "add", "pair"].map((each) =>
    slot(place, each),
  );
  slot(place, "whose").textContent = before ? t("These devices share “{name}”.", { name: before.workshop.name }) : "";
  /** @type {Device[]} */
  let devices = [];
  let looking = 0;

  const tell = (/** @type {string} */ text, unpaired = false) => {
    setText(trouble, text);
    trouble.hidden = text === "";
    pair.hidden = !unpaired;
    add.hidden = unpaired;
  };
  /** Do something with the server; say what came between. @param {() => Promise<void>} what */
  const attempt = async (what) => {
    try {
      await what();
      tell("");
    } catch (error) {
      if (error instanceof NoSignal) tell(t("{why} The list of devices is on the server.", { why: error.message }));
      else if (error instanceof ServerError) {
        tell(error.message, error.status === 401);
        if (error.status === 401) cards.replaceChildren();
      } else throw error;
    }
  };
  const load = async () => {
    devices = await ask("/api/devices");
    draw();
  };
  const draw = () => replaceKeepingFocus(cards, ...devices.map(row));

  /** @param {Device} device */
  const row = (device) => {
    const line = h(
      "span",
      { class: "line" },
      device.this ? t("this device, {seen}", { seen: seenText(device) }) : seenText(device),
    );
    const name = h("span", { class: "name" }, device.name);
    const out = h("p", { class: "help", role: "status" });
    const box = /** @type {HTMLInputElement} */ (h("input", { type: "text", maxlength: 60, "aria-label": t("Name") }));
    const rename = h("button", { type: "button", class: "quiet small" }, t("Rename"));
    const revoke = h("button", { type: "button", class: "quiet small" }, t("Shut out"));
    rename.addEventListener("click", () => {
      if (box.isConnected) {
        void attempt(async () => {
          await ask(`/api/devices/${device.id}/rename`, { name: box.value });
          await load();
        });
        return;
      }
      box.value = device.name;
      name.replaceChildren(box);
      box.select();
      rename.textContent = t("Save");
    });
    box.addEventListener("keydown", ({ key }) => {
      if (key === "Enter") rename.click();
      if (key === "Escape") draw();
    });
    revoke.addEventListener("click", () => {
      if (revoke.dataset.sure !== "yes") {
        revoke.dataset.sure = "yes";
        revoke.textContent = t("Really shut it out?");
        out.textContent = device.this
          ? t("This device will be shut out. What is saved on it stays there until you wipe it.")
          : t("It will be shut out. What is saved on it stays there until you wipe it.");
        return;
      }
      void attempt(async () => {
        await ask(`/api/devices/${device.id}/revoke`, {});
        await load();
      });
    });
    const buttons = device.revoked_ms === null && h("span", { class: "value" }, rename, revoke);
    return h("div", { class: "card device" }, h("span", { class: "what" }, name, line), buttons, out);
  };

  const invite = async () => {
    const { code, lives_s, url, rows } = await ask("/api/code", {});
    const known = new Set(devices.map(({ id }) => id));
    slot(place, "code").textContent = code;
    const alone = /^(localhost|127\.|\[::1)/.test(location.hostname);
    slot(place, "qr").replaceChildren(
      alone
        ? h(
            "p",
            { class: "beware notice" },
            t(
              "Only this computer can open the bench at this address. To add another device, open the bench here at " +
                "this computer’s address on the network, then make a code.",
            ),
          )
        : drawCode(rows),
    );
    slot(place, "url").textContent = url;
    const minutes = Math.round(lives_s / 60);
    const lives = plural(minutes, "The code works once, for {n} minute.", "The code works once, for {n} minutes.");
    setText(slot(place, "lives"), lives);
    invited.hidden = false;
    invited.scrollIntoView({ block: "start" });
    add.textContent = t("Another code");
    const until = performance.now() + lives_s * 1000;
    clearInterval(looking);
    looking = window.setInterval(async () => {
      if (performance.now() > until) {
        stop();
        showToast(t("That code is too old now. Make another one if you still need it."));
        return;
      }
      /** @type {Device[]} */
      const found = await ask("/api/devices").catch(() => []);
      const came = found.find(({ id }) => !known.has(id));
      if (!came || looking === 0) return;
      stop();
      showToast(t("“{name}” is paired now.", { name: came.name }));
      void attempt(load);
    }, LOOK_MS);
  };
  const stop = () => {
    clearInterval(looking);
    looking = 0;
    invited.hidden = true;
    add.textContent = t("Add a device");
  };
  add.addEventListener("click", () => void attempt(invite));
  if (before) void attempt(load);
  else tell(t("This device is not paired with a server: what you save is on this device only."), true);
  return stop;
}

/** @param {Device} device */
function seenText({ seen_ms, revoked_ms }) {
  const day = (/** @type {number} */ at_ms) => dayText(localDate(at_ms));
  if (revoked_ms !== null) return t("shut out since {day}", { day: day(revoked_ms) });
  const minutes = Math.floor((phoneNow() - seen_ms) / 60_000);
  if (minutes < 2) return t("seen just now");
  if (minutes < 60) return plural(minutes, "seen {n} minute ago", "seen {n} minutes ago");
  const when = { day: day(seen_ms), time: timeText(seen_ms) };
  return localDate(seen_ms) === localDate(phoneNow()) ? t("seen today, {time}", when) : t("seen {day}, {time}", when);
}

/** The QR code: one path of all dark runs, dark on light in every light. @param {number[][]} rows */
function drawCode(rows) {
  const size = rows.length + 2 * MARGIN;
  const runs = rows.flatMap((row, y) => row.map((dark, x) => (dark ? `M${x + MARGIN} ${y + MARGIN}h1v1h-1z` : "")));
  return svg(
    "svg",
    { viewBox: `0 0 ${size} ${size}`, class: "qr", role: "img", "aria-label": t("QR code of the address") },
    svg("path", { d: runs.join("") }),
  );
}
