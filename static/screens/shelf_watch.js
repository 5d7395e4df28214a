/** Whether there is anything on the shelf: as long as there is not, nothing of it is loaded or shown. */
import { ofKind, onChange, oneAtATime, stored } from "../records/store.js";

/** Call once, as soon as there is a lot. @param {() => Promise<void>} bring */
export async function whenShelved(bring) {
  const look = async () => {
    if (brought || (await stored([ofKind("lot")])).length === 0) return;
    brought = true;
    stop();
    await bring();
  };
  let brought = false;
  const again = oneAtATime(look);
  const stop = onChange((changes) => {
    if (changes.some(({ kind }) => kind === "lot")) again();
  });
  await look();
}
