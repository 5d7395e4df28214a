/** Made from benchapp/records/kinds.py by `python -m benchapp.records.export`; not edited by hand. */

/** The kinds of record that she types, in the order of the catalogue. */
export const KINDS = ["vessel", "wax", "fragrance", "recipe", "wick", "additive", "packaging", "supplier", "safety_sheet", "buyer", "jug", "heater", "scale", "thermometer", "workshop", "lot", "wanted", "prices", "recall", "label", "label_stock", "maker", "product", "complaint"];

/** Those with a list of their own in the workshop. */
export const LISTED = ["vessel", "wax", "fragrance", "wick", "additive", "packaging", "supplier", "safety_sheet", "buyer", "jug", "heater", "scale", "thermometer"];

/** Those of which there is one record, which she does not name. */
export const ONLY = ["workshop", "prices", "maker"];

/** Those that a record of another kind may name. */
export const NAMED = ["supplier", "vessel", "wick", "wax", "fragrance", "additive", "packaging", "pour", "recipe", "lot", "label", "buyer", "product"];
