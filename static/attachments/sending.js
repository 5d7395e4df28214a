/**
 * Bytes on their way to the server: after the records, one file after the other, in pieces.
 *
 * The server is asked first what it has, and how far it is with others, so nothing is sent twice and what broke off is
 * gone on with. What it has confirmed counts for the era of its records: put back from a backup, it is asked again.
 */
import { ask, NoSignal, onSyncStatus, ServerError, syncStatus } from "../records/exchange.js";
import { onChange } from "../records/store.js";
import { allAttachments, KIND } from "./attachments.js";
import { allHeld, bytesHere, dropBytes, note } from "./bytes.js";
import { askHave, serverEra } from "./server.js";

/** @typedef {import("./bytes.js").Held} Held */

/** A piece is made smaller where it does not get through in time. */
const PIECES = { largest: 262_144, smallest: 16_384 };
const MONTH_MS = 30 * 24 * 3600 * 1000;
const DAY_MS = 24 * 3600 * 1000;

/** How it stands. */
export const sendingStatus = {
  isBusy: false,
  /** The server's sentence, where it takes no more for now. */
  trouble: "",
};
/** @type {Set<() => void>} */
const listeners = new Set();
let piece_bytes = PIECES.largest;
let isSomethingNew = true;

/** Hear when it stands differently. @param {() => void} listener @returns {() => void} stop hearing */
export function onSending(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Begin to send by itself, whenever the exchange has come to rest. Call once. */
export function keepSending() {
  onChange((changes) => {
    if (changes.some(({ kind }) => kind === KIND || kind === "server")) isSomethingNew = true;
  });
  const look = () => {
    if (syncStatus.state === "resting" && isSomethingNew && !sendingStatus.isBusy) void sendNow();
  };
  onSyncStatus(look);
  look();
}

/** Send what waits, as far as the server takes it. */
export async function sendNow() {
  sendingStatus.isBusy = true;
  isSomethingNew = false;
  tell();
  try {
    if (navigator.locks) await navigator.locks.request("attachments", sendAll);
    else await sendAll();
    sendingStatus.trouble = "";
  } catch (error) {
    isSomethingNew = true;
    if (error instanceof NoSignal) piece_bytes = Math.max(PIECES.smallest, piece_bytes / 2);
    else if (!(error instanceof ServerError)) console.error(error);
    sendingStatus.trouble = error instanceof ServerError ? error.message : "";
  } finally {
    sendingStatus.isBusy = false;
    tell();
  }
}

function tell() {
  for (const listener of listeners) listener();
}

/** What is here and not on the server, the oldest first; what nothing names does not count.
 * @returns {Promise<{waiting: Held[], held: Held[], named: Set<string>, era: string | null}>} */
export async function waiting() {
  const [held, all, era] = await Promise.all([allHeld(), allAttachments(), serverEra()]);
  const named = new Set(all.filter(({ deleted }) => !deleted).map(({ sha256 }) => sha256));
  const left = held.filter((each) => named.has(each.sha256) && !each.refused && (era === null || each.era !== era));
  return { waiting: left.sort((a, b) => a.at - b.at), held, named, era };
}

async function sendAll() {
  await tidy();
  const { waiting: left, era } = await waiting();
  if (era === null) return;
  const { kept, begun } = await askHave(left.map(({ sha256 }) => sha256));
  await note([...kept], { era });
  for (const each of left) if (!kept.has(each.sha256)) await send(each, begun.get(each.sha256) ?? 0, era);
}

/** @param {Held} held @param {number} begun bytes that the server has of it @param {string} era */
async function send({ sha256, size }, begun, era) {
  const data = await bytesHere(sha256);
  if (data === undefined) return;
  let at = begun;
  for (let anew = 0; anew < 3; ) {
    try {
      const piece = new Blob([data.slice(at, at + piece_bytes)], { type: "application/octet-stream" });
      const { kept, have } = await ask(`/api/attachments/${sha256}?at=${at}&of=${size}`, piece);
      if (kept) {
        await note([sha256], { era });
        tell();
        return;
      }
      // It says where to go on; where it does not come forward, something is wrong with it.
      if (have <= at) anew += 1;
      at = have;
    } catch (error) {
      if (!(error instanceof ServerError)) throw error;
      if (error.told?.never) {
        await note([sha256], { refused: error.message });
        return;
      }
      if (!error.told?.again) throw error;
      anew += 1;
      at = 0;
    }
  }
  throw new ServerError("The server gave an answer that the bench can't read.", 502, 0, null);
}

/** Let go of what nothing names: photos deleted a month ago, and bytes whose record was never kept. */
async function tidy() {
  const [held, all] = await Promise.all([allHeld(), allAttachments()]);
  const now = Date.now();
  const wanted = new Set(
    all.filter(({ deleted_at }) => deleted_at === null || deleted_at > now - MONTH_MS).map(({ sha256 }) => sha256),
  );
  const gone = held.filter(({ sha256, at }) => !wanted.has(sha256) && at < now - DAY_MS);
  if (gone.length > 0) await dropBytes(gone.map(({ sha256 }) => sha256));
}
