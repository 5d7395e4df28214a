/** Turning push on and off on this device, at her tap; and what to do where that can't be. */
import { literal, message } from "../words/door.js";
import { asked, how, keep, PushTrouble, subscribe, within } from "./push.js";

/** @import { Message } from "../words/door.js" */
/** @import { How, Told } from "./push.js" */

/** How it stands with the server. @returns {Promise<Told>} @throws {PushTrouble} */
export function pushStatus() {
  return asked("/api/push");
}

/** Call in a tap: the browser asks her. @returns {Promise<Told>} @throws {PushTrouble} */
export async function turnOn() {
  const stands = how();
  if (stands !== "on" && stands !== "off") throw new PushTrouble(whatToDo(stands));
  // Nothing is waited for before this: some browsers ask in the very tap only.
  const answered = await Notification.requestPermission();
  if (answered === "default") throw new PushTrouble("Turn it on again, and allow it when the browser asks.");
  if (answered === "denied") throw new PushTrouble(whatToDo(answered));
  const told = await subscribe();
  if (told.key === null) throw new PushTrouble(literal(told.why));
  return told;
}

/** Off here in any case: where the server can't be told, what it sends is refused on its way. */
export async function turnOff() {
  await keep({ wanted: false });
  const leave = async () => (await (await navigator.serviceWorker.ready).pushManager.getSubscription())?.unsubscribe();
  await Promise.allSettled([within(leave()), asked("/api/push/stop", {})]);
}

/** @throws {PushTrouble} */
export async function sendTest() {
  await asked("/api/push/test", {});
}

// ---- what to do --------------------------------------------------------------------------------

/** What there is to do where it can't be turned on. @param {How} stands @returns {Message} */
export function whatToDo(stands) {
  switch (stands) {
    case "install first":
      return message("First tap Share, then Add to Home Screen, and open the bench from there.");
    case "not paired":
      return message("The server sends the reminders. Pair this device first.");
    case "no":
      return message("This browser can’t give reminders. An iPhone can from iOS 16.4 on.");
    default:
      return whereToAllow();
  }
}

/** @returns {Message} */
function whereToAllow() {
  if ("standalone" in navigator) {
    return message("Notifications are blocked. Allow them in Settings, Notifications, then turn it on here.");
  }
  if (/Android/.test(navigator.userAgent)) {
    return message(
      "Notifications are blocked. Allow them at the sign left of the address (in the app: hold its icon, App info), " +
        "then turn it on here.",
    );
  }
  return message("Notifications are blocked. Allow them at the sign left of the address, then turn it on here.");
}
