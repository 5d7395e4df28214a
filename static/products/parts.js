/**
 * What stands in a product's file, part by part, and what is missing for it to be complete. Pure.
 *
 * It says what is missing of what the bench asks for. Whether that is all that the law asks, it never says.
 */
import { message } from "../words/door.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {{text: Message, href: string}} Lack what is missing, and where it is mended */
/** @typedef {"what" | "recipe" | "materials" | "findings" | "label" | "tests" | "risks" | "batches" | "complaints"} Key */
/** @typedef {{key: Key, state: "there" | "older" | "missing", lacks: Lack[]}} Part */
/**
 * @typedef {object} Holds what is kept of a product, as far as its file asks for it
 * @property {Fields} product its record
 * @property {Fields | null} recipe null: it is gone
 * @property {Fields | null} maker who sells it
 * @property {{kind: string, id: string, name: string, sheets: number, lots: {id: string, name: string, shown: boolean}[]}[]}
 *   materials of the recipe; `sheets`: safety data sheets of it; `lots` of it that its batches took, `shown`: with a
 *   certificate
 * @property {{changed: boolean, undecided: boolean} | null} hazard the newest hazard finding; `changed`: it is older than what it
 *   rests on; `undecided`: it leaves something open
 * @property {boolean} isUnclassed she said why it needs no hazard class
 * @property {{id: string, code: string | null, net: "yes" | "no" | "undecided" | null}[]} batches newest first; `net`: whether
 *   it may state its weight, null: nothing was found of that
 * @property {boolean} states its label states a weight
 * @property {{id: string, finished: boolean, changed: boolean} | null} made the newest label that was made for it
 * @property {string} label of which it was, or would be made; "": none
 * @property {"tested" | "wrong" | "open" | "changed" | "never"} tested
 * @property {{key: string, field: string, asks: string}[]} risks the questions
 * @property {{id: string, name: string, unreported: boolean, open: boolean}[]} complaints
 */

/** Materials that come with a safety data sheet; of the others a certificate, or whatever the supplier has, may do. */
const WITH_SHEETS = ["wax", "fragrance", "additive"];

/** The parts of the file in its order. @param {Holds} holds @returns {Part[]} */
export function partsOf(holds) {
  /** @type {[Key, Lack[], boolean][]} */
  const found = [
    ["what", whatLacks(holds), false],
    ["recipe", recipeLacks(holds), false],
    ["materials", materialLacks(holds), false],
    ["findings", findingLacks(holds), holds.hazard?.changed === true],
    ["label", labelLacks(holds), holds.made?.changed === true],
    ["tests", testLacks(holds), holds.tested === "changed"],
    ["risks", riskLacks(holds), false],
    ["batches", batchLacks(holds), false],
    ["complaints", complaintLacks(holds), false],
  ];
  return found.map(([key, lacks, isOlder]) => {
    if (lacks.length === 0) return { key, state: "there", lacks };
    return { key, state: isOlder && lacks.length === 1 ? "older" : "missing", lacks };
  });
}

/** How an answer stands. @param {unknown} answer @returns {"open" | "yes" | "no"} open: it is not answered */
export function answerOf(answer) {
  const { applies, why, done } = /** @type {Fields} */ (answer ?? {});
  if (applies === "yes" && isWritten(done)) return "yes";
  return applies === "no" && isWritten(why) ? "no" : "open";
}

/** @param {unknown} text */
const isWritten = (text) => typeof text === "string" && text.trim() !== "";

/** @param {Message | false} text @param {string} href @returns {Lack[]} */
const lack = (text, href) => (text ? [{ text, href }] : []);

/** @param {Holds} holds */
function whatLacks({ product, maker }) {
  const edit = `#/edit/product/${product.id}`;
  const who = "#/edit/maker/maker";
  return [
    ...lack(!isWritten(product.says) && message("It does not say what it is and what it is for."), edit),
    ...lack(!isWritten(product.safety) && message("It does not say what makes it safer."), edit),
    ...lack(
      !isWritten(product.standards) &&
        message("It does not say which standards you applied, or that you applied none."),
      edit,
    ),
    ...lack(!isWritten(maker?.called) && message("Your name is missing."), who),
    ...lack(!isWritten(maker?.address) && message("Your postal address is missing."), who),
    ...lack(!isWritten(maker?.electronic) && message("Your mail or website is missing."), who),
  ];
}

/** @param {Holds} holds */
function recipeLacks({ product, recipe }) {
  return lack(recipe === null && message("Its recipe is not kept here any more."), `#/edit/product/${product.id}`);
}

/** @param {Holds} holds */
function materialLacks({ materials, product }) {
  return materials.flatMap(({ kind, id, name, sheets, lots }) => {
    const values = { name };
    if (WITH_SHEETS.includes(kind))
      return [
        ...lack(
          sheets === 0 && message("There is no safety data sheet of {name}.", values),
          `#/edit/safety_sheet/new/product/${product.id}/${kind},${id}`,
        ),
        ...withoutCertificate(lots, name),
      ];
    if (lots.length > 0) return withoutCertificate(lots, name);
    return lack(
      sheets === 0 && message("Nothing shows what {name} is made of: no delivery of it has a certificate.", values),
      `#/material/${kind}/${id}`,
    );
  });
}

/** @param {Holds["materials"][number]["lots"]} lots @param {string} name */
function withoutCertificate(lots, name) {
  const bare = lots.filter(({ shown }) => !shown);
  return bare.flatMap(({ id, name: lot }) =>
    lack(message("The delivery {lot} of {name} has no certificate.", { lot, name }), `#/edit/lot/${id}`),
  );
}

/** @param {Holds} holds */
function findingLacks({ recipe, hazard, isUnclassed, states, batches }) {
  const weighed = batches.filter(({ net }) => net !== null);
  const [newest] = batches;
  /** @type {Record<string, Message>} */
  const says = {
    no: message("The batch {code} may not state the weight that it states."),
    undecided: message("Whether the batch {code} may state its weight is undecided."),
  };
  return [
    ...lack(
      hazard === null && !isUnclassed && message("Its hazard class was not worked out."),
      `#/hazard/${recipe?.id ?? ""}`,
    ),
    ...lack(
      hazard?.changed === true && message("Its hazard class is older than what it rests on."),
      `#/hazard/${recipe?.id ?? ""}`,
    ),
    ...lack(
      hazard?.undecided === true && message("Its hazard class leaves something undecided."),
      `#/hazard/${recipe?.id ?? ""}`,
    ),
    ...lack(
      states && newest !== undefined && weighed.length === 0 && message("No batch was checked for its net content."),
      `#/net/${newest?.id}`,
    ),
    ...weighed.flatMap(({ id, code, net }) =>
      lack(net !== "yes" && { ...says[String(net)], values: { code: code ?? "?" } }, `#/net/${id}`),
    ),
  ];
}

/** @param {Holds} holds */
function labelLacks({ made, label, recipe }) {
  const href = made ? `#/made_label/${made.id}` : label ? `#/label/${label}` : `#/labels/for/${recipe?.id ?? ""}`;
  return [
    ...lack(made === null && message("No label was made for it."), href),
    ...lack(made?.finished === false && message("Its label is not finished."), href),
    ...lack(made?.changed === true && message("Its label is older than what stands on it."), href),
  ];
}

/** @param {Holds} holds */
function testLacks({ tested, recipe }) {
  /** @type {Record<Holds["tested"], Message | false>} */
  const says = {
    tested: false,
    wrong: message("No burn test found its wick right: the last one found it wrong."),
    open: message("No burn test found its wick right yet."),
    changed: message("Its burn test is older than the recipe."),
    never: message("How it burns was never tested."),
  };
  return lack(says[tested], `#/recipe/${recipe?.id ?? ""}`);
}

/** @param {Holds} holds */
function riskLacks({ product, risks }) {
  return risks.flatMap(({ key, field, asks }) => {
    const href = `#/risk/${product.id}/${key}`;
    const answer = answerOf(product[field]);
    if (answer === "open") return lack(message("Not answered: {question}", { question: asks }), href);
    return lack(
      answer === "yes" &&
        !isWritten(product[field].shows) &&
        message("Nothing is named that shows what was done: {question}", { question: asks }),
      href,
    );
  });
}

/** @param {Holds} holds */
function batchLacks({ batches, recipe }) {
  return [
    ...lack(batches.length === 0 && message("No batch of it was poured yet."), `#/plan/${recipe?.id ?? ""}`),
    ...batches.flatMap(({ id, code }) => lack(code === null && message("A batch has no code."), `#/entry/${id}`)),
  ];
}

/** @param {Holds} holds */
function complaintLacks({ complaints }) {
  return complaints.flatMap(({ id, name, unreported, open }) => [
    ...lack(
      unreported && message("It is not said whether the injury was reported: {name}", { name }),
      `#/complaint/${id}`,
    ),
    ...lack(open && message("A complaint is open: {name}", { name }), `#/complaint/${id}`),
  ]);
}
