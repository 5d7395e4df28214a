/** Made from benchapp/records/events.py by `python -m benchapp.records.export`; not edited by hand. */

/** As EVENT_TYPES, of labels. @type {import("./events.js").Catalogue} */
export const LABELS_EVENT_TYPES = {
  made_label: {
    printed: {"log": "Printed on {stock}", "log_bare": "Printed", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 2000}, "piece": {"as": "choice", "needed": true, "choices": {"label": "the label", "second": "the second piece"}}, "stock": {"as": "text"}}},
    undone: {"log": "Undone", "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
    corrected: {"log": "Corrected", "is_step": false, "fields": {"event": {"as": "event", "needed": true}, "field": {"as": "choice", "needed": true, "choices": {"n": "n"}}, "value": {"as": "value", "needed": true, "least": -1000000.0, "most": 1000000.0}, "why": {"as": "text"}}},
  },
};
