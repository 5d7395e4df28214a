/**
 * What pages show, as blocks that the desk sets on paper: so the file says what the screens say, in the same words.
 */

/**
 * @typedef {{is: "heading", text: string, level?: number}
 *   | {is: "text", text: string}
 *   | {is: "list", items: string[]}
 *   | {is: "facts", rows: [string, string][]}
 *   | {is: "table", head: string[], rows: string[][]}
 *   | {is: "symbols", names: string[]}
 *   | {is: "picture", png: string, width_mm: number, height_mm: number, caption: string}
 *   | {is: "chart", label: string, width: number, height: number, items: ChartItem[]}} Block `**` around what stands out
 */
/**
 * @typedef {{is: "line" | "area", kind: string, points: [number, number][]}
 *   | {is: "rect", kind: string, x: number, y: number, width: number, height: number}
 *   | {is: "dot", kind: string, x: number, y: number, r: number}
 *   | {is: "words", x: number, y: number, anchor: string, text: string}} ChartItem in the drawing's own units
 */

/** What is for a finger, or said elsewhere. */
const LEFT_OUT = new Set(["BUTTON", "FORM", "INPUT", "SELECT", "TEXTAREA", "IMG", "PROGRESS", "TEMPLATE"]);

/** What stands in a line with its neighbours. */
const IN_LINE = new Set(["B", "STRONG", "SPAN", "A", "I", "S", "TIME", "EM"]);

/** @param {Iterable<Node | false>} nodes @returns {Block[]} */
export function blocksOf(nodes) {
  /** @type {Block[]} */
  const found = [];
  let line = "";
  const flush = () => {
    const text = tidy(line);
    if (text !== "") found.push({ is: "text", text });
    line = "";
  };
  for (const node of nodes) {
    if (!node) continue;
    if (!(node instanceof Element) || IN_LINE.has(node.tagName)) line += textOf(node);
    else {
      flush();
      found.push(...blocksOfElement(node));
    }
  }
  flush();
  return found;
}

/** @param {Element} element @returns {Block[]} */
function blocksOfElement(element) {
  if (LEFT_OUT.has(element.tagName) || element.hasAttribute("hidden")) return [];
  const children = [...element.children];
  switch (element.tagName) {
    case "H1":
    case "H2":
      return [{ is: "heading", text: plainOf(element), level: 2 }];
    case "H3":
    case "H4":
    case "SUMMARY":
      return [{ is: "heading", text: plainOf(element), level: 3 }];
    case "P":
    case "FIGCAPTION": {
      const text = tidy(textOf(element));
      return text === "" ? [] : [{ is: "text", text }];
    }
    case "UL":
    case "OL":
      return [{ is: "list", items: children.map((each) => tidy(textOf(each))).filter(Boolean) }];
    case "DL":
      return [{ is: "facts", rows: children.flatMap(factOf) }];
    case "TABLE":
      return [tableOf(element)];
    case "svg":
      return [chartOf(/** @type {SVGElement} */ (element))];
    default:
      return blocksOf(element.childNodes);
  }
}

/** @param {Element} pair @returns {[string, string][]} */
function factOf(pair) {
  const [name, value] = [pair.querySelector("dt"), pair.querySelector("dd")];
  return name && value ? [[plainOf(name), tidy(textOf(value))]] : [];
}

/** @param {Element} table @returns {Block} */
function tableOf(table) {
  const cells = (/** @type {Element} */ row) => [...row.children].map((each) => tidy(textOf(each)));
  const rows = [...table.querySelectorAll("tr")];
  const head = rows.filter((row) => row.closest("thead")).flatMap(cells);
  return { is: "table", head, rows: rows.filter((row) => !row.closest("thead")).map(cells) };
}

/** Text with what stands out between `**`; what is not in one line is apart. @param {Node} node @returns {string} */
function textOf(node) {
  if (!(node instanceof Element)) return (node.textContent ?? "").replaceAll("**", "*");
  if (LEFT_OUT.has(node.tagName) || node.hasAttribute("hidden")) return "";
  const text = [...node.childNodes].map(textOf).join("");
  if (node.tagName === "B" || node.tagName === "STRONG")
    return text.trim() === "" ? text : `**${text.replaceAll("**", "")}**`;
  return IN_LINE.has(node.tagName) && !node.classList.contains("under") ? text : ` ${text} `;
}

/** @param {Element} element */
const plainOf = (element) => tidy(textOf(element)).replaceAll("**", "");

/** @param {string} text */
const tidy = (text) =>
  text
    .replace(/[ \t\u00a0]+/g, " ")
    .replace(/\s*\n\s*/g, "\n")
    .trim();

// ---- charts ------------------------------------------------------------------------------------

/** A chart as it was drawn, without its styles. @param {SVGElement} drawing @returns {Block} */
export function chartOf(drawing) {
  const [, , width, height] = numbersIn(drawing.getAttribute("viewBox"));
  return {
    ...{ is: "chart", label: drawing.getAttribute("aria-label") ?? "", width, height },
    items: [...drawing.children].flatMap(itemOf),
  };
}

/** @param {Element} element @returns {ChartItem[]} */
function itemOf(element) {
  const kind = element.getAttribute("class") ?? "";
  const [x, y, width, height, cx, cy, r] = ["x", "y", "width", "height", "cx", "cy", "r"].map((name) =>
    Number(element.getAttribute(name) ?? 0),
  );
  switch (element.tagName) {
    case "rect":
      return [{ is: "rect", kind, x, y, width, height }];
    case "circle":
      return [{ is: "dot", kind, x: cx, y: cy, r }];
    case "path":
      return [{ is: "line", kind, points: pathOf(element.getAttribute("d") ?? "") }];
    case "polyline":
    case "polygon":
      return [
        {
          is: element.tagName === "polygon" ? "area" : "line",
          kind,
          points: pairs(numbersIn(element.getAttribute("points"))),
        },
      ];
    case "text": {
      const text = element.textContent ?? "";
      return [{ is: "words", x, y, anchor: element.getAttribute("text-anchor") ?? "start", text }];
    }
    default:
      return [];
  }
}

/** A path of one line along an axis, as charts draw them: 'M10 20H30' or 'M10 20V30'. @param {string} d
 * @returns {[number, number][]} */
function pathOf(d) {
  const [x = 0, y = 0, end = 0] = numbersIn(d);
  return d.includes("V")
    ? [
        [x, y],
        [x, end],
      ]
    : [
        [x, y],
        [end, y],
      ];
}

/** @param {string | null} text */
const numbersIn = (text) => (text?.match(/-?\d+(?:\.\d+)?/g) ?? []).map(Number);

/** @param {number[]} numbers @returns {[number, number][]} */
function pairs(numbers) {
  return Array.from({ length: Math.floor(numbers.length / 2) }, (_, at) => [numbers[2 * at], numbers[2 * at + 1]]);
}
