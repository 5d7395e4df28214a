/** Who may come in: the paired devices, and a code for another one. */

import { now } from "../bench/clock.js";
import { ask, NoSignal, paired, ServerError } from "../records/exchange.js";
import { dayText, localDate, timeText } from "../words/dates.js";
import { cloneTemplate, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";

/** @typedef {{id: string, name: string, seen_ms: number, revoked_ms: number | null, this: boolean}} Device */

const LOOK_MS = 4000;
const SVG = "http://www.w3.org/2000/svg";
const MARGIN = 4;

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-devices"));
  const before = await paired();
  const [trouble, cards, invited, add, pair] = ["trouble", "cards", "invited", "add", "pair"].map((each) =>
    slot(place, each),
  );
  slot(place, "whose").textContent = before ? `In “${before.workshop.name}”.` : "";
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
      if (error instanceof NoSignal) tell(`${error.message} The list of devices is kept there.`);
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
    const over = h("span", { class: "over" }, `${device.this ? "this one, " : ""}${seenText(device)}`);
    const name = h("span", { class: "name" }, device.name);
    const out = h("p", { class: "help", role: "status" });
    const box = /** @type {HTMLInputElement} */ (h("input", { type: "text", maxlength: 60, "aria-label": "Name" }));
    const rename = h("button", { type: "button", class: "quiet small" }, "Rename");
    const revoke = h("button", { type: "button", class: "quiet small" }, "Revoke");
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
      rename.textContent = "Save";
    });
    box.addEventListener("keydown", ({ key }) => {
      if (key === "Enter") rename.click();
      if (key === "Escape") draw();
    });
    revoke.addEventListener("click", () => {
      if (revoke.dataset.sure !== "yes") {
        revoke.dataset.sure = "yes";
        revoke.textContent = "Revoke: sure?";
        out.textContent = `${device.this ? "This device" : "It"} gets in no more. What it keeps offline stays on it: only wiping that phone removes it.`;
        return;
      }
      void attempt(async () => {
        await ask(`/api/devices/${device.id}/revoke`, {});
        await load();
      });
    });
    const buttons = device.revoked_ms === null && h("span", { class: "value" }, rename, revoke);
    return h("div", { class: "card device" }, h("span", { class: "what" }, over, name), buttons, out);
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
            "Only this machine can open the bench at this address. For another, open it here by the machine’s address on the network, then make a code.",
          )
        : drawCode(rows),
    );
    slot(place, "url").textContent = url;
    setText(slot(place, "lives"), `It works once, for ${Math.round(lives_s / 60)} minutes.`);
    invited.hidden = false;
    invited.scrollIntoView({ block: "start" });
    add.textContent = "Another code";
    const until = performance.now() + lives_s * 1000;
    clearInterval(looking);
    looking = window.setInterval(async () => {
      if (performance.now() > until) {
        stop();
        showToast("That code is too old now. Make another where it is still needed.");
        return;
      }
      /** @type {Device[]} */
      const found = await ask("/api/devices").catch(() => []);
      const came = found.find(({ id }) => !known.has(id));
      if (!came || looking === 0) return;
      stop();
      showToast(`“${came.name}” is in.`);
      void attempt(load);
    }, LOOK_MS);
  };
  const stop = () => {
    clearInterval(looking);
    looking = 0;
    invited.hidden = true;
    add.textContent = "Add a device";
  };
  add.addEventListener("click", () => void attempt(invite));
  if (before) void attempt(load);
  else tell("This device is not paired with a server: what it keeps is on it alone.", true);
  return stop;
}

/** @param {Device} device */
function seenText({ seen_ms, revoked_ms }) {
  const day = (/** @type {number} */ at_ms) => dayText(localDate(at_ms));
  if (revoked_ms !== null) return `gets in no more, since ${day(revoked_ms)}`;
  const minutes = Math.floor((now() - seen_ms) / 60_000);
  if (minutes < 2) return "seen just now";
  if (minutes < 60) return `seen ${minutes} minutes ago`;
  return `seen ${localDate(seen_ms) === localDate(now()) ? "today" : day(seen_ms)}, ${timeText(seen_ms)}`;
}

/** The QR code: one path of all dark runs, dark on light in every light. @param {number[][]} rows */
function drawCode(rows) {
  const size = rows.length + 2 * MARGIN;
  const drawn = document.createElementNS(SVG, "svg");
  for (const [name, value] of Object.entries({
    viewBox: `0 0 ${size} ${size}`,
    class: "qr",
    role: "img",
    "aria-label": "QR code of the address",
  })) {
    drawn.setAttribute(name, value);
  }
  const path = document.createElementNS(SVG, "path");
  const runs = rows.flatMap((row, y) => row.map((dark, x) => (dark ? `M${x + MARGIN} ${y + MARGIN}h1v1h-1z` : "")));
  path.setAttribute("d", runs.join(""));
  drawn.append(path);
  return drawn;
}
