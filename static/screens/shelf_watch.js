/** Whether there is a record of a kind: as long as there is none, nothing of what it brings is loaded or shown. */
import { hasAny, onChange, oneAtATime } from "../records/store.js";

/** Call once, as soon as there is one. @param {string} kind @param {() => Promise<void>} bring */
export async function whenThereIs(kind, bring) {
  const look = async () => {
    if (brought || !(await hasAny(kind)) || brought) return;
    brought = true;
    stop();
    await bring();
  };
  let brought = false;
  const again = oneAtATime(look);
  const stop = onChange((changes) => {
    if (changes.some((change) => change.kind === kind)) again();
  });
  await look();
}
