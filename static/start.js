/** Starts the bench, on the first visit once all of it is on the phone. It runs while the page is still read. */
import { screenAt } from "./addresses.js";
import { firstVisit } from "./offline.js";

await firstVisit();
// The two have little in common: together they come sooner than one after the other.
await Promise.all([import("./app.js"), screenAt(location.hash).load()]);
