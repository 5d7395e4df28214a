/** The kinds of things that have a list of their own in the workshop. */
export const KINDS = ["vessel", "wax", "fragrance", "wick", "additive", "jug", "heater", "scale", "thermometer"];
