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
  batch: {
    set_aside: {"log": "Set aside, {why}", "log_bare": "Set aside", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "why": {"as": "text"}}},
    put_back: {"log": "Put back on the shelf", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "place": {"as": "choice", "needed": true, "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}, "why": {"as": "text"}}},
    labelled: {"log": "Labelled", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "made_label": {"as": "text"}}},
    sold: {"log": "Sold, {where}", "log_bare": "Sold", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "price": {"as": "whole", "least": 0, "most": 100000000000}, "currency": {"as": "text"}, "buyer": {"as": "text"}, "where": {"as": "text"}, "wanted": {"as": "text"}, "place": {"as": "choice", "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}}},
    given: {"log": "Given away, {where}", "log_bare": "Given away", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "buyer": {"as": "text"}, "where": {"as": "text"}, "place": {"as": "choice", "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}}},
    broken: {"log": "Broken, {why}", "log_bare": "Broken", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "why": {"as": "text"}, "place": {"as": "choice", "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}}},
    test_burned: {"log": "Taken for a burn test", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "test": {"as": "text"}, "place": {"as": "choice", "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}}},
    returned: {"log": "Came back, {why}", "log_bare": "Came back", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "buyer": {"as": "text"}, "recall": {"as": "text"}, "why": {"as": "text"}}},
    destroyed: {"log": "Destroyed, {why}", "log_bare": "Destroyed", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 1, "most": 100000}, "why": {"as": "text"}, "place": {"as": "choice", "choices": {"shelf": "the shelf", "aside": "what is set aside", "returned": "what came back"}}}},
    counted: {"log": "Counted on the shelf, {why}", "log_bare": "Counted on the shelf", "correctable": "n", "is_step": false, "fields": {"n": {"as": "whole", "needed": true, "least": 0, "most": 100000}, "why": {"as": "text"}}},
    withdrawn: {"log": "Withdrawn: {why}", "is_step": false, "fields": {"why": {"as": "text", "needed": true}}},
    released: {"log": "May be sold again: {why}", "is_step": false, "fields": {"why": {"as": "text", "needed": true}}},
    noted: {"log": "Note: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    undone: {"log": "Undone", "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
    corrected: {"log": "Corrected", "is_step": false, "fields": {"event": {"as": "event", "needed": true}, "field": {"as": "choice", "needed": true, "choices": {"n": "n"}}, "value": {"as": "value", "needed": true, "least": -1000000.0, "most": 1000000.0}, "why": {"as": "text"}}},
  },
  recall: {
    told: {"log": "Told {whom}", "log_bare": "Told a buyer", "is_step": false, "fields": {"buyer": {"as": "text"}, "whom": {"as": "text"}, "how": {"as": "text"}}},
    closed: {"log": "Closed: {why}", "log_bare": "Closed", "is_step": false, "fields": {"why": {"as": "text"}}},
    noted: {"log": "Note: {text}", "is_step": false, "fields": {"text": {"as": "text", "needed": true}}},
    undone: {"log": "Undone", "is_step": false, "fields": {"event": {"as": "event", "needed": true}}},
  },
};
