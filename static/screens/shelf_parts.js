/** What the shelf adds to screens of the bench: loading it fills the places that they keep. */
import { BoardBag } from "./board_bag.js";
import { PlanLots } from "./plan_lots.js";

customElements.define("bench-lots", PlanLots);
customElements.define("bench-bag", BoardBag);
