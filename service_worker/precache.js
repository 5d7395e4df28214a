/**
 * Packs of files in the phone's cache storage: each is fetched in one answer, checked by its hash, and kept as it came in
 * a cache of its own. Its format stands in benchapp/web/packs.py.
 *
 * A pack is read at once, and its files are answered out of memory: to look up each of the hundred that a start asks for
 * takes longer than all else that the worker does.
 */

/**
 * @typedef {object} Pack
 * @property {string} path where the server has it
 * @property {string} hash SHA-256 in hexadecimal: the server gives this very one or none
 * @property {string} cache the name of its cache
 */
/** @typedef {Uint8Array<ArrayBuffer>} Bytes */
/** @typedef {Map<string, {body: Bytes, headers: Record<string, string>}>} Files by URL */

/**
 * Fetch a pack and refuse anything but the very bytes that were announced. One that has come before is only asked about
 * again ('no-cache'); where that gives other bytes, past every cache.
 * @param {Pack} pack @returns {Promise<Bytes>}
 * @throws {Error} it can't be had
 */
export async function fetchPack(pack) {
  try {
    return await fetchOnce(pack, "no-cache");
  } catch {
    return fetchOnce(pack, "reload");
  }
}

/**
 * Store all of the packs or none.
 * @param {[Pack, Bytes][]} packs
 * @throws {Error} there is no room
 */
export async function storePacks(packs) {
  const made = [];
  try {
    for (const [pack, bytes] of packs) {
      // A version that comes back may find its cache still in use: then failing must not delete it.
      if (!(await caches.has(pack.cache))) made.push(pack.cache);
      await (await caches.open(pack.cache)).put(pack.path, new Response(bytes));
    }
  } catch (error) {
    for (const name of made) await caches.delete(name);
    throw error;
  }
}

/** Whether a pack is stored. @param {Pack} pack */
export async function isStored(pack) {
  return (await caches.match(pack.path, { cacheName: pack.cache })) !== undefined;
}

/** The files of a pack that is stored; null: it is not. @param {Pack} pack @returns {Promise<Files | null>} */
export async function readPack(pack) {
  const stored = await caches.match(pack.path, { cacheName: pack.cache });
  return stored ? unpacked(new Uint8Array(await stored.arrayBuffer())) : null;
}

/** @param {Pack} pack @param {RequestCache} cache */
async function fetchOnce({ path, hash }, cache) {
  const response = await fetch(`${path}?${hash}`, { cache, redirect: "error" });
  if (response.status !== 200 || response.type !== "basic") {
    throw new Error(`${path} answered ${response.status}`);
  }
  const bytes = new Uint8Array(await response.arrayBuffer());
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const hex = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
  if (hex !== hash) throw new Error(`${path} is not the one that was announced`);
  return bytes;
}

/** @param {Bytes} pack @returns {Files} */
export function unpacked(pack) {
  let at = pack.indexOf(10) + 1;
  const { headers, files } = JSON.parse(new TextDecoder().decode(pack.subarray(0, at)));
  /** @type {Files} */
  const found = new Map();
  for (const [type, urls] of Object.entries(files)) {
    for (const [url, length] of Object.entries(urls)) {
      found.set(url, { body: pack.subarray(at, (at += length)), headers: { ...headers, "Content-Type": type } });
    }
  }
  return found;
}
