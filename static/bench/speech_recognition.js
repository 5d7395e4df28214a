/**
 * Numbers and commands, recognised by the browser's own speech recognition: on the device itself, or over the
 * network if she has agreed to that.
 */
import { message, worded } from "../words/door.js";
import { understand } from "./spoken_numbers.js";

/** @typedef {import("./spoken_numbers.js").Word} Word */
/** @typedef {"here" | "to fetch" | "away" | "none"} Ability on the device, after a download, only over the network, not at all */

/** Between two attempts (ms); each is twice as long as the one before, until one lasts. */
const FIRST_PAUSE_MS = 250;
const LONGEST_PAUSE_MS = 16_000;

/** So many of the things that it may have heard are looked at. */
const ALTERNATIVES = 3;

/** What is wrong, by the recogniser's own names. @type {Record<string, import("../words/door.js").Message | undefined>} */
const PROBLEMS = {
  "not-allowed": message(
    "Listening is blocked. Allow the microphone for this page in the browser's settings, then switch this on again.",
  ),
  "service-not-allowed": message("This browser does not allow listening: see its settings for speech."),
  "audio-capture": message("No microphone was found."),
  "language-not-supported": message("This browser can't recognise English on the device itself."),
  network: message("Listening needs signal here, and there is none. It comes back by itself."),
};
const FINAL = ["not-allowed", "service-not-allowed", "language-not-supported"];

/** What is heard until then is the phone itself. */
let ignored_until_ms = 0;

const recognition = () =>
  /** @type {any} */ (globalThis).SpeechRecognition ?? /** @type {any} */ (globalThis).webkitSpeechRecognition;

/** Her own language, if it is an English. */
const language = () => (/^en\b/i.test(navigator.language) ? navigator.language : "en-GB");

const wanted = () => ({ langs: [language()], processLocally: true });

/** @returns {Promise<Ability>} */
export async function availability() {
  const Recognition = recognition();
  if (Recognition === undefined) return "none";
  const answer = await Recognition.available?.(wanted()).catch(() => "");
  return answer === "available" ? "here" : answer === "downloadable" || answer === "downloading" ? "to fetch" : "away";
}

/** Fetch what recognises speech on the device, in a tap. @returns {Promise<boolean>} whether it is here now */
export async function downloadRecognition() {
  return (
    (await recognition()
      .install(wanted())
      .catch(() => false)) === true
  );
}

/**
 * Listen until stopped, never while hidden.
 * @param {{away: boolean, onWord: (word: Word) => void, onTrouble: (text: string) => void}} given `away`: she
 *   agreed that what is heard may leave the device, which it does only where it can't be recognised on it
 * @returns {{stop: () => void, pause: (ms: number) => void}} `pause`: hear nothing for so long
 */
export function startSpeechRecognition({ away, onWord, onTrouble }) {
  /** @type {Ability | null} */
  let ability = null;
  /** @type {any} */
  let current = null;
  let stopped = false;
  let pause_ms = FIRST_PAUSE_MS;
  /** @type {ReturnType<typeof setTimeout> | undefined} */
  let timer;

  function begin() {
    clearTimeout(timer);
    if (stopped || ability === null || current !== null || document.visibilityState !== "visible") return;
    const wait_ms = ignored_until_ms - performance.now();
    if (wait_ms > 0) return again(wait_ms);
    const here = ability === "here";
    if (!here && !away) return report("language-not-supported");
    if (!here && !navigator.onLine) return report("network");
    const mine = new (recognition())();
    Object.assign(mine, { continuous: true, interimResults: false, maxAlternatives: ALTERNATIVES, lang: language() });
    mine.processLocally = here;
    mine.onstart = () => onTrouble("");
    mine.onresult = hear;
    mine.onerror = (/** @type {{error: string}} */ { error }) => report(error);
    mine.onend = () => {
      if (current !== mine) return;
      current = null;
      again(pause_ms);
      pause_ms = Math.min(2 * pause_ms, LONGEST_PAUSE_MS);
    };
    current = mine;
    try {
      mine.start();
    } catch {
      mine.onend();
    }
  }

  function again(/** @type {number} */ ms) {
    clearTimeout(timer);
    if (!stopped) timer = setTimeout(begin, ms);
  }

  function report(/** @type {string} */ error) {
    const said = PROBLEMS[error];
    if (said) onTrouble(worded(said));
    if (FINAL.includes(error)) stop();
  }

  /** @param {{resultIndex: number, results: any}} event */
  function hear({ resultIndex, results }) {
    pause_ms = FIRST_PAUSE_MS;
    for (const result of [...results].slice(resultIndex)) {
      if (!result.isFinal) continue;
      const word = [...result].map(({ transcript }) => understand(transcript)).find((each) => each !== null);
      if (word) onWord(word);
    }
  }

  /** What it was about to say it heard is dropped with it. */
  function abort() {
    const mine = current;
    current = null;
    if (mine === null) return;
    mine.onresult = null;
    mine.abort();
  }

  function restart() {
    abort();
    pause_ms = FIRST_PAUSE_MS;
    begin();
  }

  function stop() {
    stopped = true;
    clearTimeout(timer);
    abort();
    document.removeEventListener("visibilitychange", restart);
    removeEventListener("online", restart);
  }

  document.addEventListener("visibilitychange", restart);
  addEventListener("online", restart);
  void availability().then((found) => {
    ability = found;
    begin();
  });
  return {
    stop,
    pause: (ms) => {
      ignored_until_ms = Math.max(ignored_until_ms, performance.now() + ms);
      abort();
      begin();
    },
  };
}
