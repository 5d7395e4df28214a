/** Made from benchapp/records/events.py by `python -m benchapp.records.export`; not edited by hand. */

/** As EVENT_TYPES, of shelf. @type {import("./events.js").Catalogue} */
export const SHELF_EVENT_TYPES = {
  lot: {
    used: {"log": "Used, {why}", "log_bare": "Used", "correctable": "amount", "is_step": false, "fields": {"amount": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0}, "why": {"as": "text"}}},
    counted: {"log": "Counted, {why}", "log_bare": "Counted", "correctable": "amount", "is_step": false, "fields": {"amount": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0}, "why": {"as": "text"}}},
    thrown_away: {"log": "Thrown away, {why}", "log_bare": "Thrown away", "correctable": "amount", "is_step": false, "fields": {"amount": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0}, "why": {"as": "text"}}},
    sent_back: {"log": "Sent back, {why}", "log_bare": "Sent back", "correctable": "amount", "is_step": false, "fields": {"amount": {"as": "quantity", "needed": true, "least": 0, "most": 1000000.0}, "why": {"as": "text"}}},
    opened: {"log": "Opened", "correctable": "on", "is_step": false, "fields": {"on": {"as": "day", "needed": true}}},
    withdrawn: {"log": "Withdrawn: {why}", "is_step": false, "fields": {"why": {"as": "text", "needed": true}}},
    used_all_the_same: {"log": "Chosen all the same: {why}", "is_step": false, "fields": {"why": {"as": "text", "needed": true}}},
    noted: {"log": "Note: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    undone: {"log": "Undone", "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
    corrected: {"log": "Corrected", "is_step": false, "fields": {"event": {"as": "event", "needed": true}, "field": {"as": "choice", "needed": true, "choices": {"amount": "amount", "on": "on"}}, "value": {"as": "value", "needed": true, "least": -1000000.0, "most": 1000000.0}, "why": {"as": "text"}}},
  },
};
