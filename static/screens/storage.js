/** How much room photos and papers take, here and on the server, and letting go of some. */
import { KIND } from "../attachments/attachments.js";
import { onSending, sendingStatus } from "../attachments/sending.js";
import { letGo, NEWEST, onServer, stored } from "../attachments/storage.js";
import { NoSignal, ServerError } from "../records/exchange.js";
import { plural, t } from "../words/door.js";
import { cloneTemplate, setText, showFacts, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { sizeText } from "./size_text.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-storage"));
  const button = /** @type {HTMLButtonElement} */ (slot(place, "let_go"));
  const say = (/** @type {string} */ text) => {
    setText(slot(place, "said"), text);
    slot(place, "said").hidden = text === "";
  };
  let server = t("It is being asked.");

  const draw = async () => {
    const [found, estimate] = await Promise.all([stored(), navigator.storage?.estimate?.()]);
    const room = /** @type {{quota?: number, usage?: number} | undefined} */ (estimate);
    /** @type {[string, string][]} */
    const facts = [[t("On this phone"), amountText(found.here)]];
    if (found.isPaired) {
      facts.push([t("On the server"), server]);
      facts.push([t("Waiting to be sent"), found.waits.count > 0 ? amountText(found.waits) : t("nothing")]);
    } else facts.push([t("On the server"), t("This phone is not paired with one: they are on this phone alone.")]);
    if (room?.quota && room.usage !== undefined) {
      const values = { used: sizeText(room.usage), all: sizeText(room.quota) };
      facts.push([t("All of the bench here"), t("{used} of the {all} that the browser gives it", values)]);
    }
    showFacts(slot(place, "facts"), facts);
    const troubles = [sendingStatus.trouble, ...found.refused].filter(Boolean);
    setText(slot(place, "trouble"), troubles.join(" "));
    slot(place, "trouble").hidden = troubles.length === 0;
    const { count, size } = found.spare;
    setText(slot(place, "spare"), spareText(count));
    button.hidden = count === 0;
    setText(button, plural(count, "Let go of {n} ({size})", "Let go of {n} ({size})", { size: sizeText(size) }));
  };

  button.addEventListener("click", async () => {
    button.disabled = true;
    say("");
    try {
      const { count, size } = await letGo();
      say(plural(count, "{n} was let go of: {size}.", "{n} were let go of: {size}.", { size: sizeText(size) }));
    } catch (error) {
      if (error instanceof NoSignal)
        say(t("{why} Only what the server has can be let go of: try again when it answers.", { why: error.message }));
      else if (error instanceof ServerError) say(error.message);
      else throw error;
    } finally {
      button.disabled = false;
      await draw();
    }
  });

  const askServer = async () => {
    try {
      const { count, bytes, room_bytes } = await onServer();
      const values = { amount: amountText({ count, size: bytes }), room: sizeText(room_bytes) };
      server = t("{amount}, of {room} at most", values);
    } catch (error) {
      if (!(error instanceof NoSignal || error instanceof ServerError)) throw error;
      server = error.message;
    }
    await draw();
  };
  const unsubscribe = [await drawOnChange(ofKinds(KIND), draw), onSending(() => void draw())];
  if ((await stored()).isPaired) void askServer().catch(console.error);
  return () => unsubscribe.forEach((stop) => stop());
}

/** @param {number} count */
function spareText(count) {
  if (count === 0)
    return t(
      "There is nothing to let go of. The newest {n} stay in any case, and so does what the server does not have.",
      {
        n: NEWEST,
      },
    );
  return t(
    "What the server has can be let go of here, but for the newest {n}. It is fetched again when you open it, as long as there is signal.",
    { n: NEWEST },
  );
}

/** @param {{count: number, size: number}} amount */
function amountText({ count, size }) {
  if (count === 0) return t("none");
  return plural(count, "{n} photo or paper, {size}", "{n} photos and papers, {size}", { size: sizeText(size) });
}
