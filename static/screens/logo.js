/** A logo that she chose: read into what a record holds. What is wrong inside of it the desk says. */
import { t } from "../words/door.js";
import { toBase64 } from "./base64.js";

/** Bytes: as base64 it fits in one part of a record. */
const MOST_BYTES = 120_000;
const TYPES = ["image/png", "image/svg+xml"];

/** @param {File} file @returns {Promise<{logo?: {type: string, base64: string}, problem?: string}>} */
export async function readLogo(file) {
  if (!TYPES.includes(file.type))
    return { problem: t("A logo is a PNG or an SVG picture: save it as one, and choose it again.") };
  if (file.size > MOST_BYTES)
    return {
      problem: t("The logo is larger than {n} kB: save it smaller, 600 pixels wide are plenty.", {
        n: MOST_BYTES / 1000,
      }),
    };
  return { logo: { type: file.type, base64: await toBase64(file) } };
}
