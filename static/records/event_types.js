/** Made from benchapp/records/events.py by `python -m benchapp.records.export`; not edited by hand. */

/**
 * @typedef {{type: "ready", over?: string | null}
 *   | {type: "weighed", jug?: number | null, part: "wax" | "additive" | "fragrance" | "restore", index: number, over?: string | null, read_g: number, source?: string | null, how?: "mark" | null}
 *   | {type: "accepted", jug?: number | null, part: "wax" | "additive" | "fragrance" | "restore", index: number, over?: string | null}
 *   | {type: "melted", jug?: number | null, over?: string | null}
 *   | {type: "read", jug?: number | null, temp_c: number, source?: string | null}
 *   | {type: "warmed", jug?: number | null}
 *   | {type: "went_on", jug?: number | null, wait?: number | null}
 *   | {type: "added", jug?: number | null, over?: string | null}
 *   | {type: "stirred", jug?: number | null, over?: string | null}
 *   | {type: "poured", jug?: number | null, vessel?: number | null, read_g: number, source?: string | null, how?: "mark" | null}
 *   | {type: "emptied", jug?: number | null, vessel?: number | null}
 *   | {type: "skipped", jug?: number | null, vessel?: number | null, why?: string | null}
 *   | {type: "spilled", jug?: number | null, over?: string | null, read_g: number}
 *   | {type: "stopped", jug?: number | null, vessel?: number | null, why?: string | null, filled?: number | null}
 *   | {type: "filled_other", jug?: number | null, vessel?: number | null, read_g: number, source?: string | null, how?: "mark" | null}
 *   | {type: "abandoned", why?: string | null}
 *   | {type: "set", on: string}
 *   | {type: "finished", tops?: string | null, good?: number | null, seconds?: number | null, spoiled?: number | null, rest?: "kept" | "thrown" | "none" | null, text?: string | null, set_through?: "yes" | "no" | null, trimmed?: "yes" | "no" | null, labelled?: "yes" | "no" | null}
 *   | {type: "noted", text: string}
 *   | {type: "seen_to", reminder: "trim" | "label" | "cured" | "best" | "burn" | "reburn", on: string}
 *   | {type: "put_off", reminder: "trim" | "label" | "cured" | "best" | "burn" | "reburn", on: string, until: string}
 *   | {type: "burned", text?: string | null, next_on?: string | null}
 *   | {type: "ran_out", jug?: number | null, part: "wax" | "additive" | "fragrance" | "restore", index: number, read_g: number, lot?: string | null}
 *   | {type: "came_from", kind: string, material: string, lot?: string | null}
 *   | {type: "handed_out", n: number, wanted?: string | null, why?: string | null}
 *   | {type: "candles_counted", n: number, why?: string | null}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "read_g" | "temp_c" | "on" | "n", value: number | string, why?: string | null}} NewPourEvent what happens to a pour, before it is kept
 */
/**
 * @typedef {{type: "used", amount: number, why?: string | null}
 *   | {type: "counted", amount: number, why?: string | null}
 *   | {type: "thrown_away", amount: number, why?: string | null}
 *   | {type: "sent_back", amount: number, why?: string | null}
 *   | {type: "opened", on: string}
 *   | {type: "withdrawn", why: string}
 *   | {type: "used_all_the_same", why: string}
 *   | {type: "noted", text: string}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "amount" | "on", value: number | string, why?: string | null}} NewLotEvent what happens to a lot, before it is kept
 */
/**
 * @typedef {{type: "weighed", candle: number, burn: number, when: "before" | "after", read_g: number, over?: string | null}
 *   | {type: "lit", candle: number, burn: number, over?: string | null}
 *   | {type: "measured", candle: number, burn: number, mark: number, what: "pool" | "across" | "depth" | "flame", mm: number, over?: string | null}
 *   | {type: "hottest", candle: number, burn: number, mark: number, temp_c: number, over?: string | null}
 *   | {type: "saw", candle: number, burn: number, mark: number, what: "pool_full" | "flame_low" | "soot" | "mushroom" | "flicker" | "drowning" | "wall", grade: number, over?: string | null}
 *   | {type: "nothing_else", candle: number, burn: number, mark: number}
 *   | {type: "looked", candle: number, burn: number, mark: number}
 *   | {type: "stopped", candle: number, burn: number, why: "out" | "flame" | "second_flame" | "cracked" | "soot" | "went_out" | "other", text?: string | null, over?: string | null}
 *   | {type: "smoke_ended", candle: number, burn: number, seconds: number, over?: string | null}
 *   | {type: "smoke_not_seen", candle: number, burn: number}
 *   | {type: "burned_down", candle: number}
 *   | {type: "set_aside", candle: number, why?: string | null}
 *   | {type: "rated", candle: number, throw: "cold" | "hot", nose: string, rating: number, letter?: string | null}
 *   | {type: "shuffled", seed: number}
 *   | {type: "unblinded"}
 *   | {type: "closed", why?: string | null}
 *   | {type: "noted", text: string}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "read_g" | "mm" | "temp_c" | "grade" | "seconds" | "rating", value: number | string, why?: string | null}} NewBurnTestEvent what happens to a burn_test, before it is kept
 */
/**
 * @typedef {{type: "printed", n: number, piece: "label" | "second", stock?: string | null}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "n", value: number | string, why?: string | null}} NewMadeLabelEvent what happens to a made_label, before it is kept
 */
/**
 * @typedef {{type: "set_aside", n: number, why?: string | null}
 *   | {type: "put_back", n: number, place: "shelf" | "aside" | "returned", why?: string | null}
 *   | {type: "labelled", n: number, made_label?: string | null}
 *   | {type: "sold", n: number, price?: number | null, currency?: string | null, buyer?: string | null, where?: string | null, wanted?: string | null, place?: "shelf" | "aside" | "returned" | null}
 *   | {type: "given", n: number, buyer?: string | null, where?: string | null, place?: "shelf" | "aside" | "returned" | null}
 *   | {type: "broken", n: number, why?: string | null, place?: "shelf" | "aside" | "returned" | null}
 *   | {type: "test_burned", n: number, test?: string | null, place?: "shelf" | "aside" | "returned" | null}
 *   | {type: "returned", n: number, buyer?: string | null, recall?: string | null, why?: string | null}
 *   | {type: "destroyed", n: number, why?: string | null, place?: "shelf" | "aside" | "returned" | null}
 *   | {type: "counted", n: number, why?: string | null}
 *   | {type: "withdrawn", why: string}
 *   | {type: "released", why: string}
 *   | {type: "noted", text: string}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "n", value: number | string, why?: string | null}} NewBatchEvent what happens to a batch, before it is kept
 */
/**
 * @typedef {{type: "told", buyer?: string | null, whom?: string | null, how?: string | null}
 *   | {type: "closed", why?: string | null}
 *   | {type: "noted", text: string}
 *   | {type: "undone", event: string}} NewRecallEvent what happens to a recall, before it is kept
 */
/**
 * @typedef {{type: "answered", text: string}
 *   | {type: "done", text: string}
 *   | {type: "reported", to: string, on: string, text?: string | null}
 *   | {type: "closed", text?: string | null}
 *   | {type: "reopened", text?: string | null}
 *   | {type: "noted", text: string}
 *   | {type: "undone", event: string}
 *   | {type: "corrected", event: string, field: "on", value: number | string, why?: string | null}} NewComplaintEvent what happens to a complaint, before it is kept
 */
/** @typedef {NewPourEvent | NewLotEvent | NewBurnTestEvent | NewMadeLabelEvent | NewBatchEvent | NewRecallEvent | NewComplaintEvent} NewEvent */
/** @typedef {{id: string, of: [kind: string, id: string], at: number, by?: string, offset_ms?: number}} Kept the id is a stamp, by which events sort; at: ms since 1970, by the server's clock where the phone knew it, offset_ms ahead of its own; by: the device */
/** @typedef {NewPourEvent & Kept} PourEvent */
/** @typedef {NewLotEvent & Kept} LotEvent */
/** @typedef {NewBurnTestEvent & Kept} BurnTestEvent */
/** @typedef {NewMadeLabelEvent & Kept} MadeLabelEvent */
/** @typedef {NewBatchEvent & Kept} BatchEvent */
/** @typedef {NewRecallEvent & Kept} RecallEvent */
/** @typedef {NewComplaintEvent & Kept} ComplaintEvent */
/** @typedef {PourEvent | LotEvent | BurnTestEvent | MadeLabelEvent | BatchEvent | RecallEvent | ComplaintEvent} AnyEvent */
/** @typedef {{pour: PourEvent, lot: LotEvent, burn_test: BurnTestEvent, made_label: MadeLabelEvent, batch: BatchEvent, recall: RecallEvent, complaint: ComplaintEvent}} EventByKind by the kind of the record */

/** The types of event, by the kind of record that they happen to.
 * @type {import("./events.js").Catalogue} */
export const EVENT_TYPES = {
  pour: {
    ready: {"log": "Made everything ready", "is_harmless": true, "fields": {"over": {"as": "event"}}},
    weighed: {"log": "Weighed {part}", "correctable": "read_g", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "part": {"as": "choice", "needed": true, "choices": {"wax": "wax", "additive": "additive", "fragrance": "fragrance", "restore": "wax to put the load right"}}, "index": {"as": "whole", "needed": true, "least": 0, "most": 99}, "over": {"as": "event"}, "read_g": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0, "dimension": "mass"}, "source": {"as": "text"}, "how": {"as": "choice", "choices": {"mark": "on target"}}}},
    accepted: {"log": "Kept {part} as it was", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "part": {"as": "choice", "needed": true, "choices": {"wax": "wax", "additive": "additive", "fragrance": "fragrance", "restore": "wax to put the load right"}}, "index": {"as": "whole", "needed": true, "least": 0, "most": 99}, "over": {"as": "event"}}},
    melted: {"log": "All melted", "is_harmless": true, "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "over": {"as": "event"}}},
    read: {"log": "The thermometer showed", "correctable": "temp_c", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "temp_c": {"as": "quantity", "needed": true, "least": -50, "most": 400, "dimension": "temperature"}, "source": {"as": "text"}}},
    warmed: {"log": "Put back on the heat", "is_harmless": true, "fields": {"jug": {"as": "whole", "least": 0, "most": 999}}},
    went_on: {"log": "Went on after the wait", "is_harmless": true, "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "wait": {"as": "whole", "least": 0, "most": 1}}},
    added: {"log": "Added the fragrance, began to stir", "is_harmless": true, "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "over": {"as": "event"}}},
    stirred: {"log": "Stirred", "is_harmless": true, "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "over": {"as": "event"}}},
    poured: {"log": "Filled a vessel", "correctable": "read_g", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "vessel": {"as": "whole", "least": 0, "most": 5000}, "read_g": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0, "dimension": "mass"}, "source": {"as": "text"}, "how": {"as": "choice", "choices": {"mark": "on target"}}}},
    emptied: {"log": "Filled the rest without counting", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "vessel": {"as": "whole", "least": 0, "most": 5000}}},
    skipped: {"log": "Skipped a vessel: {why}", "log_bare": "Skipped a vessel", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "vessel": {"as": "whole", "least": 0, "most": 5000}, "why": {"as": "text"}}},
    spilled: {"log": "Some spilled. Left in the jug", "correctable": "read_g", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "over": {"as": "event"}, "read_g": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0, "dimension": "mass"}}},
    stopped: {"log": "Stopped before all were filled: {why}", "log_bare": "Stopped before all were filled", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "vessel": {"as": "whole", "least": 0, "most": 5000}, "why": {"as": "text"}, "filled": {"as": "whole", "least": 0, "most": 5000}}},
    filled_other: {"log": "Filled another vessel", "correctable": "read_g", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "vessel": {"as": "whole", "least": 0, "most": 5000}, "read_g": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0, "dimension": "mass"}, "source": {"as": "text"}, "how": {"as": "choice", "choices": {"mark": "on target"}}}},
    abandoned: {"log": "Gave up this pour: {why}", "log_bare": "Gave up this pour", "fields": {"why": {"as": "text"}}},
    set: {"log": "Left to set", "correctable": "on", "is_harmless": true, "moves_reminders": true, "fields": {"on": {"as": "day", "needed": true}}},
    finished: {"log": "Put away to cure. Set: {set_through}; trimmed: {trimmed}; labelled: {labelled}", "log_bare": "Trimmed and put away to cure", "moves_reminders": true, "fields": {"tops": {"as": "text"}, "good": {"as": "whole", "least": 0, "most": 5000}, "seconds": {"as": "whole", "least": 0, "most": 5000}, "spoiled": {"as": "whole", "least": 0, "most": 5000}, "rest": {"as": "choice", "choices": {"kept": "kept for another pour", "thrown": "thrown away", "none": "nothing was left"}}, "text": {"as": "text"}, "set_through": {"as": "choice", "choices": {"yes": "yes", "no": "no"}}, "trimmed": {"as": "choice", "choices": {"yes": "yes", "no": "no"}}, "labelled": {"as": "choice", "choices": {"yes": "yes", "no": "no"}}}},
    noted: {"log": "Note: {text}", "fields": {"text": {"as": "text", "needed": true}}},
    seen_to: {"log": "Ticked off: {reminder}", "moves_reminders": true, "is_step": false, "fields": {"reminder": {"as": "choice", "needed": true, "choices": {"trim": "ready to trim", "label": "trim and label", "cured": "cured", "best": "fully cured", "burn": "test burn due", "reburn": "next test burn due"}}, "on": {"as": "day", "needed": true}}},
    put_off: {"log": "Put off: {reminder}", "moves_reminders": true, "is_step": false, "fields": {"reminder": {"as": "choice", "needed": true, "choices": {"trim": "ready to trim", "label": "trim and label", "cured": "cured", "best": "fully cured", "burn": "test burn due", "reburn": "next test burn due"}}, "on": {"as": "day", "needed": true}, "until": {"as": "day", "needed": true}}},
    burned: {"log": "Test burn: {text}", "log_bare": "Test burn", "moves_reminders": true, "is_step": false, "fields": {"text": {"as": "text"}, "next_on": {"as": "day"}}},
    ran_out: {"log": "The lot of {part} ran out at", "correctable": "read_g", "fields": {"jug": {"as": "whole", "least": 0, "most": 999}, "part": {"as": "choice", "needed": true, "choices": {"wax": "wax", "additive": "additive", "fragrance": "fragrance", "restore": "wax to put the load right"}}, "index": {"as": "whole", "needed": true, "least": 0, "most": 99}, "read_g": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0, "dimension": "mass"}, "lot": {"as": "text"}}},
    came_from: {"log": "Said which lot it came from", "is_step": false, "fields": {"kind": {"as": "text", "needed": true}, "material": {"as": "text", "needed": true}, "lot": {"as": "text"}}},
    handed_out: {"log": "Candles went out, {why}", "log_bare": "Candles went out", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 0, "most": 5000}, "wanted": {"as": "text"}, "why": {"as": "text"}}},
    candles_counted: {"log": "Counted the candles, {why}", "log_bare": "Counted the candles", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 0, "most": 5000}, "why": {"as": "text"}}},
    undone: {"log": "Undone", "moves_reminders": true, "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
    corrected: {"log": "Corrected", "moves_reminders": true, "is_step": false, "fields": {"event": {"as": "event", "needed": true}, "field": {"as": "choice", "needed": true, "choices": {"read_g": "read_g", "temp_c": "temp_c", "on": "on", "n": "n"}}, "value": {"as": "value", "needed": true, "least": -1000000.0, "most": 1000000.0}, "why": {"as": "text"}}},
  },
};
