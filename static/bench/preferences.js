/** How she likes this phone to behave at the bench. Kept on this phone alone: another one may stand elsewhere. */

const KEY = "at the bench";

const DEFAULTS = {
  /** speak the prompts */
  voice: true,
  /** sound the bells */
  sound: true,
  /** which of the phone's voices; empty: the first that fits */
  voice_name: "",
  /** dark on light, for a board with the sun on it */
  sun: false,
  /** the actions on the left, in landscape */
  left: false,
  /** a jug is poured in one go: its vessels are not counted one by one */
  whole: false,
  /** two knocks on the bench mean 'next' */
  knock: false,
  /** two claps mean 'next' */
  clap: false,
  /** numbers and commands are listened for */
  hear: false,
  /** she agreed that what is heard may leave the phone */
  hear_away: false,
};

/** @typedef {typeof DEFAULTS} Preferences */

/** @type {Set<(now: Preferences) => void>} */
const listeners = new Set();

/** @returns {Preferences} */
export function preferences() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    const sound = Object.entries(DEFAULTS).filter(([name, usual]) => typeof kept?.[name] === typeof usual);
    return { ...DEFAULTS, ...Object.fromEntries(sound.map(([name]) => [name, kept[name]])) };
  } catch {
    return { ...DEFAULTS };
  }
}

/** @param {Partial<Preferences>} changes */
export function prefer(changes) {
  const now = { ...preferences(), ...changes };
  localStorage.setItem(KEY, JSON.stringify(now));
  for (const listener of listeners) listener(now);
}

/** @param {(now: Preferences) => void} listener @returns {() => void} unsubscribe */
export function onPreference(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
