/**
 * Packs of files in the phone's cache storage: each is fetched in one answer, checked by its hash, and kept in a cache
 * of its own, whole or not at all. Its format stands in benchapp/web/packs.py.
 */

/**
 * @typedef {object} Pack
 * @property {string} path where the server has it
 * @property {string} hash SHA-256 in hexadecimal: the server gives this very one or none
 * @property {string} cache the name of its cache
 */
/** @typedef {[string, Response][]} Files what is stored, by URL */

/**
 * Fetch a pack and refuse anything but the very bytes that were announced. One that has come before is only asked about
 * again ('no-cache'); where that gives other bytes, past every cache.
 * @param {Pack} pack @returns {Promise<Files>}
 * @throws {Error} it can't be had
 */
export async function fetchPack(pack) {
  try {
    return unpacked(await fetchOnce(pack, "no-cache"));
  } catch {
    return unpacked(await fetchOnce(pack, "reload"));
  }
}

/**
 * Store every file of the packs or none.
 * @param {[Pack, Files][]} packs
 * @throws {Error} there is no room
 */
export async function storePacks(packs) {
  const made = [];
  try {
    for (const [pack, files] of packs) {
      // A version that comes back may find its cache still in use: then failing must not delete it.
      if (!(await caches.has(pack.cache))) made.push(pack.cache);
      const cache = await caches.open(pack.cache);
      await Promise.all(files.map(([url, response]) => cache.put(url, response)));
      await cache.put(pack.path, new Response());
    }
  } catch (error) {
    for (const name of made) await caches.delete(name);
    throw error;
  }
}

/** Whether every file of a pack is stored: what is put last is there. @param {Pack} pack */
export async function isWhole(pack) {
  return (await caches.match(pack.path, { cacheName: pack.cache })) !== undefined;
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

/** @param {Uint8Array<ArrayBuffer>} pack @returns {Files} */
function unpacked(pack) {
  let at = pack.indexOf(10) + 1;
  const { headers, files } = JSON.parse(new TextDecoder().decode(pack.subarray(0, at)));
  return files.map((/** @type {[string, string, number]} */ [url, type, length]) => {
    const body = pack.subarray(at, (at += length));
    return [url, new Response(body, { headers: { ...headers, "Content-Type": type } })];
  });
}
