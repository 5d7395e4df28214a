/** What the hazard pictograms of CLP (Annex V) show, in words. The desk draws them. */
import { message, t, worded } from "../words/door.js";

/** As CLP names them in Annex V. @type {Record<string, import("../words/door.js").Message>} */
const SHOWS = {
  GHS05: message("corrosion"),
  GHS06: message("skull and crossbones"),
  GHS07: message("exclamation mark"),
  GHS08: message("health hazard"),
  GHS09: message("environment"),
};

/** What a pictogram shows, such as 'GHS07, exclamation mark'. @param {string} code */
export function pictogramText(code) {
  const shows = SHOWS[code];
  return shows ? t("{code}, {shows}", { code, shows: worded(shows) }) : code;
}
