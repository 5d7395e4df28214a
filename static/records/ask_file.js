/** Asking the server for a file: it answers with bytes, or with a sentence in JSON. */
import { literal } from "../words/door.js";
import { ask, NoSignal, ServerError } from "./exchange.js";

/** How long a large file may take to be made and to come. */
const PATIENCE_MS = 180_000;

/** @param {string} path @param {object} body @returns {Promise<Blob>} @throws {ServerError} @throws {NoSignal} */
export async function askFile(path, body) {
  const { csrf } = await ask("/api/me");
  let response;
  try {
    response = await fetch(path, {
      method: "POST",
      headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
      body: JSON.stringify(body),
      cache: "no-store",
      signal: AbortSignal.timeout(PATIENCE_MS),
    });
    if (response.ok) return await response.blob();
  } catch {
    throw new NoSignal("There is no signal, or the server does not answer.");
  }
  const told = await response.json().catch(() => null);
  const wait_s = Number(response.headers.get("Retry-After")) || 0;
  if (told?.error) throw new ServerError(literal(told.error), response.status, wait_s, told);
  throw new ServerError("The server gave an answer that the bench can't read.", response.status, wait_s, told);
}
