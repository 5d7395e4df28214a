/** Starts the bench, on the first visit once all of it is on the phone. */
import { firstVisit } from "./offline.js";

await firstVisit();
await import("./app.js");
