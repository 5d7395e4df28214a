/** Made from benchapp/records/events.py by `python -m benchapp.records.export`; not edited by hand. */

/** As EVENT_TYPES, of products. @type {import("./events.js").Catalogue} */
export const PRODUCTS_EVENT_TYPES = {
  complaint: {
    answered: {"log": "Answered: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    done: {"log": "Done about it: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    reported: {"log": "Reported to {to} on {on}", "correctable": "on", "is_step": false, "fields": {"to": {"as": "text", "needed": true}, "on": {"as": "day", "needed": true}, "text": {"as": "text"}}},
    closed: {"log": "Closed: {text}", "log_bare": "Closed", "is_step": false, "fields": {"text": {"as": "text"}}},
    reopened: {"log": "Opened again: {text}", "log_bare": "Opened again", "is_step": false, "fields": {"text": {"as": "text"}}},
    noted: {"log": "Note: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    undone: {"log": "Undone", "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
    corrected: {"log": "Corrected", "is_step": false, "fields": {"event": {"as": "event", "needed": true}, "field": {"as": "choice", "needed": true, "choices": {"on": "on"}}, "value": {"as": "value", "needed": true, "least": -1000000.0, "most": 1000000.0}, "why": {"as": "text"}}},
  },
};
