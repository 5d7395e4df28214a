/** The codes in a picture: read by the browser where it can, with no signal; else by the server. */
import { ask, NoSignal } from "../records/exchange.js";
import { InputError } from "../words/door.js";
import { toBase64 } from "./base64.js";

/** The longer side of what the server is sent, in pixels. */
const MOST_PX = 1600;
/** Bytes that it may have. */
const MOST_BYTES = 1_400_000;
const QUALITIES = [0.85, 0.6, 0.3];

/** What a batch's label may bear. */
const FORMATS = ["qr_code", "code_128"];

/**
 * The texts of the codes in a picture, in no order; none where there is none.
 * @param {Blob} picture @returns {Promise<string[]>}
 * @throws {InputError} it is no picture, or nothing can read it here and now
 * @throws {import("../records/exchange.js").ServerError} the server does not take it
 */
export async function codesIn(picture) {
  const bitmap = await createImageBitmap(picture).catch(() => {
    throw new InputError("That is no picture that this phone can read: take another one.");
  });
  try {
    const own = await readHere(bitmap);
    if (own !== null && own.length > 0) return own;
    try {
      return (await ask("/api/desk/scan", { image: await packed(bitmap) })).codes;
    } catch (error) {
      if (!(error instanceof NoSignal)) throw error;
      if (own !== null) return own;
      throw new InputError("This browser can't read a code without the server, and there is no signal: type the code.");
    }
  } finally {
    bitmap.close();
  }
}

/** What the browser itself reads in it; null where it can't read codes. @param {ImageBitmap} bitmap
 * @returns {Promise<string[] | null>} */
async function readHere(bitmap) {
  const { BarcodeDetector } = /** @type {any} */ (globalThis);
  try {
    const known = (await BarcodeDetector?.getSupportedFormats?.()) ?? [];
    const formats = FORMATS.filter((each) => known.includes(each));
    if (formats.length < FORMATS.length) return null;
    const found = await new BarcodeDetector({ formats }).detect(bitmap);
    return found.map((/** @type {{rawValue: string}} */ { rawValue }) => rawValue);
  } catch {
    // There it is, and does not work.
    return null;
  }
}

/** The picture made small, as JPEG in Base64. @param {ImageBitmap} bitmap @returns {Promise<string>} */
async function packed(bitmap) {
  const { width, height } = bitmap;
  const times = Math.min(1, MOST_PX / Math.max(width, height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [width, height].map((each) => Math.max(1, Math.round(each * times)));
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  // What is clear in it would turn black, and so would what stands on it.
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  for (const quality of QUALITIES) {
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
    if (blob !== null && blob.size <= MOST_BYTES) return toBase64(blob);
  }
  throw new InputError("That is no picture that this phone can read: take another one.");
}
