/** How this phone behaves at the bench: what is heard and seen there, and what works without hands. */

import { hasMotionSensor, requestMotion } from "../bench/accelerometer.js";
import { hasMicrophone, requestMicrophone } from "../bench/clap.js";
import { startHandsFree } from "../bench/hands_free.js";
import { onPreference, prefer, preferences } from "../bench/preferences.js";
import { availability, downloadRecognition } from "../bench/speech_recognition.js";
import { onVoice, voiceState, voices } from "../bench/voice.js";
import { t } from "../words/door.js";
import { soundCheck } from "./announcer.js";
import { cloneTemplate, h, setText, slot } from "./dom.js";
import { drawInstruments } from "./instruments.js";

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} given */
export async function show(place, _path, { units }) {
  place.append(cloneTemplate("screen-bench_settings"));
  const at = (/** @type {string} */ name) => slot(place, name);
  const box = (/** @type {string} */ name) => /** @type {HTMLInputElement} */ (place.querySelector(`[name=${name}]`));
  const labelOf = (/** @type {string} */ name) => /** @type {HTMLElement} */ (box(name).closest("label"));
  const complain = (/** @type {string} */ name, /** @type {string} */ text) => {
    setText(at(name), text);
    at(name).hidden = text === "";
  };
  /** A switch for what this browser lacks is none. */
  const lack = (/** @type {string} */ name, /** @type {string} */ text) => {
    labelOf(name).hidden = true;
    complain(name, text);
  };
  let able = await availability();

  function draw() {
    const { whole, voice_name, ...on } = preferences();
    for (const [name, is] of Object.entries({ ...on, counted: !whole }))
      if (typeof is === "boolean") box(name).checked = is;
    at("voiceless").hidden = voiceState() !== "none";
    const names = voices().map(({ name }) => name);
    at("choice").hidden = names.length < 2;
    box("voice_name").replaceChildren(
      h("option", { value: "" }, t("Choose it for me")),
      ...names.map((name) => h("option", {}, name)),
    );
    box("voice_name").value = names.includes(voice_name) ? voice_name : "";
    at("agree").hidden = able !== "away";
    const ready = able === "here" || able === "to fetch" || on.hear_away;
    if (able !== "none") labelOf("hear").hidden = !ready;
  }

  /** What must be had before it can be on, asked for in the tap. @type {Record<string, () => Promise<string>>} */
  const asks = {
    knock: requestMotion,
    clap: requestMicrophone,
    hear: async () => {
      if (able === "to fetch") {
        complain("hear", t("Loading speech recognition for this device…"));
        able = (await downloadRecognition()) ? "here" : "away";
        if (able === "away") return t("It could not be loaded.");
      }
      return requestMicrophone();
    },
  };

  place.addEventListener("change", async ({ target }) => {
    const { name, checked, value } = /** @type {HTMLInputElement} */ (target);
    const ask = checked ? asks[name] : undefined;
    const trouble = ask ? await ask() : "";
    if (name in asks) complain(name, trouble);
    if (name === "counted") prefer({ whole: !checked });
    else if (name === "voice_name") prefer({ voice_name: value });
    else if (name === "hear_away") prefer(checked ? { hear_away: true } : { hear_away: false, hear: false });
    else if (trouble === "") prefer({ [name]: checked });
    draw();
  });
  at("try").addEventListener("click", soundCheck);
  if (!hasMotionSensor()) lack("knock", t("This browser does not report movement, so it can't feel knocks."));
  if (!hasMicrophone()) lack("clap", t("This browser gives no microphone here, so it can't hear claps."));
  if (able === "none") lack("hear", t("This browser can't recognise speech."));
  draw();

  let count = 0;
  const stop = startHandsFree({
    onWord: (word) => {
      count += 1;
      setText(at("heard"), heardText(word.by, "do" in word ? word.do : word.text, count));
    },
    onTrouble: (text, by) => complain(by, text),
  });
  const unsubscribe = [onVoice(draw), onPreference(draw), stop, drawInstruments(at("instruments"), units)];
  return () => unsubscribe.forEach((end) => end());
}

/** @param {"knock" | "clap" | "hear"} by @param {string} what @param {number} count so far */
function heardText(by, what, count) {
  const values = { what, count };
  switch (by) {
    case "knock":
      return t("Heard two knocks: {what} ({count})", values);
    case "clap":
      return t("Heard two claps: {what} ({count})", values);
    default:
      return t("Heard your voice: {what} ({count})", values);
  }
}
