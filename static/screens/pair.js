/** This device comes into a workshop with a one-time code. */
import { ask, NoSignal, paired, ServerError } from "../records/exchange.js";
import { joined } from "../records/pairing.js";
import * as store from "../records/store.js";
import { t } from "../words/door.js";
import { cloneTemplate, setText, showToast, slot } from "./dom.js";

/** @param {HTMLElement} place @param {string[]} path */
export async function show(place, [given = ""]) {
  const [before, count] = await Promise.all([paired(), store.count()]);
  place.append(cloneTemplate("screen-pair"));
  const [code, name, join, wrong] = ["code", "name", "join", "wrong"].map((each) => slot(place, each));
  const inTab = isApple() && !matchMedia("(display-mode: standalone)").matches;
  slot(place, "home").hidden = !inTab;
  code.value = given;
  name.value = before?.device.name ?? nameOfDevice();
  if (before) {
    slot(place, "along").textContent = t(
      "This device is in “{name}”. With a code of another workshop it moves there, and takes its records along.",
      { name: before.workshop.name },
    );
  } else if (count > 0) {
    slot(place, "along").textContent = t("The records on this device come along into the workshop.");
  }

  /** What the server said when it let this device in; kept until the phone has taken note. @type {any} */
  let answer = null;
  const complain = (/** @type {string} */ text, box = code) => {
    setText(wrong, text);
    wrong.hidden = text === "";
    for (const each of [code, name]) each.setAttribute("aria-invalid", String(each === box && text !== ""));
  };
  const goIn = async () => {
    if (join.disabled) return;
    join.disabled = true;
    setText(join, t("Joining…"));
    complain("");
    try {
      answer ??= await ask("/api/pair", { code: code.value, name: name.value });
      // She has read above that they are brought along.
      await joined(answer, { bring: true });
      showToast(t("This device is in “{name}”.", { name: answer.workshop.name }));
      // Not back to a code that is used.
      location.replace("#/workshop");
    } catch (error) {
      if (error instanceof ServerError) complain(error.message, error.told?.field === "name" ? name : code);
      else if (error instanceof NoSignal)
        complain(t("{why} Pairing needs the server: try again when it answers.", { why: error.message }));
      else if (error instanceof store.StoreError) complain(error.message);
      else throw error;
    } finally {
      join.disabled = false;
      setText(join, t("Join"));
    }
  };
  join.addEventListener("click", () => void goIn());
  slot(place, "form").addEventListener("submit", (/** @type {Event} */ event) => {
    event.preventDefault();
    void goIn();
  });
  if (given && !before && count === 0 && !inTab) void goIn();
}

/** An iPhone or iPad; the latter calls itself a Mac. */
function isApple() {
  return (
    /iPhone|iPad|iPod/.test(navigator.userAgent) || (/Mac/.test(navigator.userAgent) && navigator.maxTouchPoints > 1)
  );
}

function nameOfDevice() {
  const { userAgent } = navigator;
  if (/iPhone|iPod/.test(userAgent)) return "iPhone";
  if (isApple()) return "iPad";
  if (/Android/.test(userAgent)) return /Mobile/.test(userAgent) ? t("Android phone") : t("Android tablet");
  return t("this computer");
}
