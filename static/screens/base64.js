/** Files as Base64 (RFC 4648 section 4), as they travel in JSON. */

/** @param {Blob} blob @returns {Promise<string>} */
export function toBase64(blob) {
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.onload = () => resolve(String(reader.result).split(",")[1]);
    reader.onerror = () => reject(reader.error);
    reader.readAsDataURL(blob);
  });
}

/** @param {string} base64 */
export const bytesOf = (base64) => Uint8Array.from(atob(base64), (each) => each.charCodeAt(0));
