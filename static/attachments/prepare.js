/**
 * A chosen file made ready to be kept. A photo is unpacked, turned upright, made smaller and packed anew: nothing that
 * the camera wrote beside it is left, such as where it was taken. A PDF stays as it is.
 */
import { InputError } from "../words/door.js";
import { hashOf, MOST_PDF, MOST_PHOTO, typeOf } from "./file_type.js";

/**
 * @typedef {object} Prepared
 * @property {ArrayBuffer} data what is kept
 * @property {string} sha256 its hash
 * @property {string} source the hash of the file as it was chosen
 * @property {string} type
 * @property {number} [width] in pixels @property {number} [height]
 * @property {string} [small] a small picture, JPEG in Base64
 */

/** The longer side of a photo, in pixels: a page of a certificate can still be read (our choice). */
const MOST_PX = 1600;
const QUALITY = 0.82;
/** The longer side of the small picture, and the bytes that it may have: it is part of the record. */
const SMALL_PX = 160;
const MOST_SMALL = 5000;
const SMALL_QUALITIES = [0.7, 0.5, 0.3, 0.1];

/** @param {File} file @returns {Promise<Prepared>} @throws {InputError} it is none that can be kept, and why */
export async function prepare(file) {
  const found = typeOf(new Uint8Array(await file.slice(0, 12).arrayBuffer()));
  if (found === null) throw new InputError("“{name}” is no photo and no PDF: only those can be kept.", named(file));
  if (found === "pdf") return preparePdf(file);
  if (file.size > MOST_PHOTO) {
    throw new InputError("“{name}” is larger than {most} MB: take a smaller photo.", {
      ...named(file),
      most: MOST_PHOTO / 1e6,
    });
  }
  const bitmap = await createImageBitmap(file).catch(() => {
    if (found === "heic")
      throw new InputError(
        "This browser can't read “{name}”: it is a HEIC photo. Take the photo here, or let the camera save JPEG.",
        named(file),
      );
    throw new InputError("“{name}” can't be read: it is damaged, or only half of it came. Take or choose it again.", {
      ...named(file),
    });
  });
  try {
    const photo = await drawn(bitmap, MOST_PX, QUALITY);
    const small = await smallOf(bitmap);
    const data = await photo.blob.arrayBuffer();
    const { width, height } = photo;
    const [sha256, source] = await Promise.all([hashOf(data), hashOf(await file.arrayBuffer())]);
    return { data, sha256, source, type: "image/jpeg", width, height, ...(small && { small }) };
  } finally {
    bitmap.close();
  }
}

/** @param {File} file @returns {Promise<Prepared>} */
async function preparePdf(file) {
  if (file.size > MOST_PDF) {
    throw new InputError(
      "“{name}” has {megabytes} MB, and a PDF that is kept may have {most} MB. Save it smaller, or only the pages that " +
        "you need.",
      { ...named(file), megabytes: Math.ceil(file.size / 1e6), most: MOST_PDF / 1e6 },
    );
  }
  const data = await file.arrayBuffer();
  const sha256 = await hashOf(data);
  return { data, sha256, source: sha256, type: "application/pdf" };
}

/** @param {File} file */
const named = ({ name }) => ({ name: name.slice(0, 80) });

/** The picture as JPEG, no larger than it is. @param {ImageBitmap} bitmap @param {number} most_px of its longer side
 * @param {number} quality of JPEG, 0 to 1 @returns {Promise<{blob: Blob, width: number, height: number}>} */
async function drawn(bitmap, most_px, quality) {
  const times = Math.min(1, most_px / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [bitmap.width, bitmap.height].map((each) => Math.max(1, Math.round(each * times)));
  const pen = /** @type {CanvasRenderingContext2D} */ (canvas.getContext("2d"));
  // What is clear in it would turn black.
  pen.fillStyle = "white";
  pen.fillRect(0, 0, canvas.width, canvas.height);
  Object.assign(pen, { imageSmoothingQuality: "high" });
  pen.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", quality));
  if (blob === null) throw new InputError("The phone is short of memory: close other apps, then add the photo again.");
  return { blob, width: canvas.width, height: canvas.height };
}

/** A picture that is small enough for the record; undefined: none is. @param {ImageBitmap} bitmap */
async function smallOf(bitmap) {
  for (const quality of SMALL_QUALITIES) {
    const { blob } = await drawn(bitmap, SMALL_PX, quality);
    if (blob.size <= MOST_SMALL) return base64Of(new Uint8Array(await blob.arrayBuffer()));
  }
  return undefined;
}

/** @param {Uint8Array} bytes a few thousand */
const base64Of = (bytes) => btoa(String.fromCharCode(...bytes));
