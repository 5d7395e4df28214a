/**
 * The one door for words: every sentence that is read or heard passes `t` or `plural`.
 *
 * A sentence is written out where it is used, in English, with named places for values:
 * `t("Weigh {wax} of wax.", { wax })`. `python -m benchapp.words.extract` collects all of them. A value may be a
 * sentence that is still to be worded (`message`), and so may what an error says. Its twin is `benchapp/words`.
 */

/** @typedef {string | number | Message} Value */
/** @typedef {Record<string, Value>} Values */
/** @typedef {{template: string, values: Values}} Message a sentence and its values, not yet worded */
/** @typedef {{tag: string, translate: (template: string) => string}} Language `tag` as in BCP 47 */

/** @type {Language} */
let language = { tag: "en-GB", translate: (template) => template };
/** @type {Intl.PluralRules | undefined} */
let rules;
/** @type {Intl.ListFormat | undefined} */
let lists;

/** Speak another language from now on. @param {Language} wanted */
export function speakIn(wanted) {
  language = wanted;
  rules = undefined;
  lists = undefined;
}

/** The language that is spoken, BCP 47. */
export function languageTag() {
  return language.tag;
}

/** The language whose plurals, lists, days and numbers are used: the pseudo-language has none of its own. */
export function locale() {
  return language.tag === "en-XA" ? "en-GB" : language.tag;
}

/** A sentence in words. A place that is given no value stays as it is written.
 * @param {string} template @param {Values} [values] @returns {string} */
export function t(template, values = {}) {
  return language.translate(template).replace(/\{(\w+)\}/g, (place, name) => {
    const value = Object.hasOwn(values, name) ? values[name] : place;
    return typeof value === "object" ? worded(value) : String(value);
  });
}

/** The sentence for so many: `{n}` stands for the number itself.
 * @param {number} n @param {string} one @param {string} other @param {Values} [values] */
export function plural(n, one, other, values = {}) {
  rules ??= new Intl.PluralRules(locale());
  return t(rules.select(n) === "one" ? one : other, { n, ...values });
}

/** A sentence to be worded later, where it is shown. @param {string} template @param {Values} [values] @returns {Message} */
export function message(template, values = {}) {
  return { template, values };
}

/** What is in words already, such as a sentence of the server's, where a message is asked for.
 * @param {string} text @returns {Message} */
export function literal(text) {
  return { template: "{text}", values: { text } };
}

/** @param {Message} said */
export function worded({ template, values }) {
  return t(template, values);
}

/** 'wax', 'wax and oil', 'wax, oil and dye'. @param {string[]} items */
export function listed(items) {
  lists ??= new Intl.ListFormat(locale(), { type: "conjunction" });
  return lists.format(items);
}

/** An error that a maker reads: it carries a sentence and its values, and is worded where it is shown. */
export class WordedError extends Error {
  /** @param {string | Message} sentence a template with its values, or a message @param {Values} [values] */
  constructor(sentence, values = {}) {
    const said = typeof sentence === "string" ? message(sentence, values) : sentence;
    super(said.template);
    this.said = said;
    Object.defineProperty(this, "message", { get: () => worded(this.said) });
  }
}

/** What was typed or read can't be taken. `about` names the value it is about, as its formula's argument is called. */
export class InputError extends WordedError {
  /** @param {string | Message} sentence @param {Values} [values] @param {string | null} [about] */
  constructor(sentence, values = {}, about = null) {
    super(sentence, values);
    this.about = about;
  }
}
