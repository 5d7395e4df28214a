/**
 * What the shell uses of the web's platform, and since when each browser has it: JSON on the standard output.
 *
 *     node uses.cjs ROOT…
 *
 * A root holds static/, service_worker/ and templates/. TypeScript's parser and types tell which interface a name is of,
 * CSSTree reads the style sheets, and the table is MDN's (@mdn/browser-compat-data). A use that is not in the table is
 * told as `unknown`: then the table calls it otherwise, and a line is to be added to the names below. What is reached
 * through a value of the type any is not seen.
 */
const fs = require("node:fs");
const path = require("node:path");
const { createRequire } = require("node:module");

// npx puts what it has fetched on the PATH.
const shelves = process.env.PATH.split(path.delimiter).map((each) => path.dirname(each));
const shelf = shelves.find((each) => fs.existsSync(path.join(each, "@mdn", "browser-compat-data")));
const need = createRequire(path.join(shelf ?? process.cwd(), "here.js"));
const ts = need("typescript");
const csstree = need("css-tree");
const table = need("@mdn/browser-compat-data");

const BROWSERS = ["chrome", "chrome_android", "firefox", "firefox_android", "safari", "safari_ios"];

// ---- the table ---------------------------------------------------------------------------------

/** @param {string} key such as 'api.Element.append' */
function entry(key) {
  let found = table;
  for (const part of key.split(".")) found = Object.hasOwn(found ?? {}, part) ? found[part] : undefined;
  return found?.__compat;
}

/** Since which version a browser has it, wholly and in part; null: not at all. */
function since(key) {
  return Object.fromEntries(
    BROWSERS.map((browser) => {
      const said = [entry(key).support[browser] ?? []].flat();
      const kept = said.filter(
        (each) => !each.flags && !each.prefix && !each.alternative_name && !each.version_removed,
      );
      const first = (list) => {
        const versions = list.map((each) => Number.parseFloat(String(each.version_added).replace("≤", "")));
        return versions.filter(Number.isFinite).sort((a, b) => a - b)[0] ?? null;
      };
      const partly = said.filter((each) => !each.flags && !each.prefix && !each.alternative_name);
      return [browser, [first(kept.filter((each) => !each.partial_implementation)), first(partly)]];
    }),
  );
}

// ---- names that TypeScript and the table don't share -------------------------------------------

/** Interfaces that are only mixed into others. */
const MIXED = {
  ParentNode: ["Element", "Document", "DocumentFragment"],
  ChildNode: ["Element", "CharacterData"],
  NonDocumentTypeChildNode: ["Element"],
  DocumentOrShadowRoot: ["Document"],
  HTMLOrSVGElement: ["HTMLElement"],
  GlobalEventHandlers: ["Element", "HTMLElement", "Window"],
  WindowEventHandlers: ["Window"],
  XMLHttpRequestEventTarget: ["XMLHttpRequest"],
  MessageEventTarget: ["MessagePort"],
  HTMLHyperlinkElementUtils: ["HTMLAnchorElement"],
  HTMLCollectionBase: ["HTMLCollection"],
  Body: ["Response"],
  AbstractWorker: ["Worker"],
  CanvasDrawImage: ["CanvasRenderingContext2D"],
  CanvasFillStrokeStyles: ["CanvasRenderingContext2D"],
  CanvasRect: ["CanvasRenderingContext2D"],
  CanvasText: ["CanvasRenderingContext2D"],
  CanvasTextDrawingStyles: ["CanvasRenderingContext2D"],
  ElementCSSInlineStyle: ["HTMLElement"],
  ARIAMixin: ["Element"],
  Animatable: ["Element"],
  PopoverTargetAttributes: ["HTMLButtonElement"],
  Console: ["console"],
  Element: ["Element", "Node"],
  AudioContext: ["AudioContext", "BaseAudioContext"],
};
for (const name of ["ID", "Language", "Locks", "OnLine", "Badge", "Storage", "ConcurrentHardware"]) {
  MIXED[`Navigator${name}`] = ["Navigator", "WorkerNavigator"];
}

/** Interfaces that are only data, or types. */
const DATA = new Set(["ResolvedDateTimeFormatOptions", "NumberFormatPart", "DateTimeFormatPart", "LockInfo"]);
const ARRAYS = /^((Uint|Int|Float)\d+(Clamped)?|BigU?[Ii]nt64)Array$/;
const INTL = new Set(["NumberFormat", "DateTimeFormat", "PluralRules", "ListFormat", "Collator", "Segmenter"]);

/** Where the table may have a member. @param {string} owner '' for a global @param {string} name */
function places(owner, name) {
  const plain = owner.replace(/Constructor$/, "");
  if (plain === "" || plain === "WindowOrWorkerGlobalScope")
    return [`api.${name}`, `javascript.builtins.${name}`, `api.Window.${name}`, `javascript.builtins.Intl.${name}`];
  if (plain === "DOMStringMap") return ["api.HTMLElement.dataset"];
  if (plain === "ImportMeta") return ["javascript.operators.import_meta"];
  if (INTL.has(plain)) return [`javascript.builtins.Intl.${plain}.${name}`, `javascript.builtins.Intl.${plain}`];
  if (plain === "Intl" || plain === "globalThis") return [`javascript.builtins.Intl.${name}`, ...places("", name)];
  if (ARRAYS.test(plain)) return [`javascript.builtins.TypedArray.${name}`, `javascript.builtins.${plain}`];
  const owners = MIXED[plain] ?? [plain.replace(/^(Readonly|Concat)(?=Array)/, "")];
  const names = name.startsWith("on") ? [`${name.slice(2)}_event`, name] : [name, `${name}_static`];
  return owners.flatMap((each) => [
    ...names.map((member) => `api.${each}.${member}`),
    ...names.map((member) => `javascript.builtins.${each}.${member}`),
  ]);
}

/** What is in all engines since before any of their tables, and not told of one by one. */
const ALWAYS =
  /^(Array|String|Function|Object|Number|Boolean|RegExp|Date|Error|Symbol|Map|Set|Promise)\w*\.(length|constructor|prototype)$/;

// ---- one root ----------------------------------------------------------------------------------

/** @param {string} root */
function usesOf(root) {
  const used = new Map();
  const unknown = new Map();
  const note = (keys, where, name = keys[0]) => {
    const key = keys.find(entry);
    if (key === undefined) unknown.set(name, where);
    else if (!used.has(key)) used.set(key, where);
  };
  for (const [config, given] of [
    ["jsconfig.json", `${root}/static`],
    ["jsconfig.worker.json", `${root}/service_worker`],
  ]) {
    readScripts(config, given, root, note);
  }
  for (const file of files(`${root}/static`, ".css")) readStyles(file, root, note);
  for (const file of files(`${root}/templates`, ".html")) readPage(file, root, note);
  return {
    used: Object.fromEntries([...used].map(([key, where]) => [key, { where, since: since(key) }])),
    unknown: Object.fromEntries(unknown),
  };
}

/** @param {string} folder @param {string} ending @returns {string[]} */
function files(folder, ending) {
  if (!fs.existsSync(folder)) return [];
  const found = fs.readdirSync(folder, { recursive: true }).map((each) => path.join(folder, String(each)));
  return found.filter((each) => each.endsWith(ending)).sort();
}

// ---- scripts -----------------------------------------------------------------------------------

function readScripts(config, folder, root, note) {
  const here = __dirname;
  const scripts = files(folder, ".js");
  if (scripts.length === 0) return;
  const read = ts.getParsedCommandLineOfConfigFile(
    path.join(here, "..", config),
    {},
    { ...ts.sys, onUnRecoverableConfigFileDiagnostic: console.error },
  );
  const declared = read.fileNames.filter((each) => each.endsWith(".d.ts"));
  // The newest of the language as well: else what is too new would be of no type, and not be seen.
  const lib = read.options.lib.map((each) => each.replace(/es20\d\d/, "esnext"));
  const program = ts.createProgram([...scripts, ...declared], { ...read.options, lib });
  const types = program.getTypeChecker();
  for (const source of program.getSourceFiles()) {
    if (!scripts.includes(path.normalize(source.fileName))) continue;
    const at = (node) =>
      `${path.relative(root, source.fileName)}:${source.getLineAndCharacterOfPosition(node.getStart()).line + 1}`;
    const visit = (node) => {
      if (ts.isIdentifier(node)) readName(node, types, (keys, name) => note(keys, at(node), name));
      for (const key of syntaxOf(node)) note([key], at(node));
      const made = madeBy(node);
      if (made !== null) for (const [element, attribute] of made) noteElement(element, attribute, "", at(node), note);
      ts.forEachChild(node, visit);
    };
    visit(source);
  }
}

/** @param {any} node an identifier */
function readName(node, types, note) {
  if (ts.isImportSpecifier(node.parent) || ts.isImportClause(node.parent)) return;
  const symbol = types.getSymbolAtLocation(node);
  for (const declaration of symbol?.declarations ?? []) {
    if (!/\/lib\.[\w.]+\.d\.ts$/.test(declaration.getSourceFile().fileName)) return;
    const { parent } = declaration;
    const owner =
      ts.isInterfaceDeclaration(parent) || ts.isClassDeclaration(parent)
        ? parent.name.text
        : ts.isTypeLiteralNode(parent) && ts.isVariableDeclaration(parent.parent)
          ? parent.parent.name.text
          : ts.isModuleBlock(parent)
            ? parent.parent.name.text
            : "";
    const name = node.text;
    if (DATA.has(owner) || ALWAYS.test(`${owner}.${name}`) || (owner === "" && name === "undefined")) return;
    if (name === "addEventListener" || name === "removeEventListener") {
      note([`api.EventTarget.${name}`], name);
      noteEvent(node, owner, note);
      return;
    }
    note(places(owner, name), `${owner}.${name}`);
    return;
  }
}

/** The event that is listened to. */
function noteEvent(node, owner, note) {
  const call = ts.isPropertyAccessExpression(node.parent) ? node.parent.parent : node.parent;
  const [event] = ts.isCallExpression(call) ? call.arguments : [];
  if (event === undefined || !ts.isStringLiteral(event)) return;
  const owners = [
    ...(MIXED[owner] ?? [owner || "Window"]),
    "Element",
    "HTMLElement",
    "Document",
    "Window",
    "ServiceWorkerGlobalScope",
  ];
  note(
    owners.map((each) => `api.${each}.${event.text}_event`),
    `${owner}: ${event.text}`,
  );
}

const SYNTAX = {
  PrivateIdentifier: "javascript.classes.private_class_fields",
  PropertyDeclaration: "javascript.classes.public_class_fields",
  ClassStaticBlockDeclaration: "javascript.classes.static",
  BigIntLiteral: "javascript.builtins.BigInt",
  SpreadAssignment: "javascript.operators.spread.spread_in_object_literals",
  MetaProperty: "javascript.operators.import_meta",
  ExportDeclaration: "javascript.statements.export",
  ImportDeclaration: "javascript.statements.import",
  AwaitExpression: "javascript.operators.await",
};
const TOKENS = {
  QuestionQuestionToken: "javascript.operators.nullish_coalescing",
  QuestionQuestionEqualsToken: "javascript.operators.nullish_coalescing_assignment",
  BarBarEqualsToken: "javascript.operators.logical_or_assignment",
  AmpersandAmpersandEqualsToken: "javascript.operators.logical_and_assignment",
  AsteriskAsteriskToken: "javascript.operators.exponentiation",
};

/** @returns {string[]} */
function syntaxOf(node) {
  const kind = ts.SyntaxKind[node.kind];
  const found = SYNTAX[kind] ? [SYNTAX[kind]] : [];
  if (TOKENS[kind]) found.push(TOKENS[kind]);
  if (node.questionDotToken) found.push("javascript.operators.optional_chaining");
  if (ts.isCatchClause(node) && !node.variableDeclaration)
    found.push("javascript.statements.try_catch.optional_catch_binding");
  if (ts.isForOfStatement(node) && node.awaitModifier) found.push("javascript.statements.for_await_of");
  if (ts.isNumericLiteral(node) && node.getText().includes("_")) found.push("javascript.grammar.numeric_separators");
  if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword)
    found.push("javascript.operators.import");
  if (ts.isAwaitExpression(node) && isOutside(node)) found.push("javascript.operators.await.top_level");
  if (node.asteriskToken && ts.isFunctionLike(node)) {
    const isAsync = ts.getCombinedModifierFlags(node) & ts.ModifierFlags.Async;
    found.push(isAsync ? "javascript.statements.async_generator_function" : "javascript.statements.generator_function");
  }
  if (ts.isRegularExpressionLiteral(node)) found.push(...patternOf(node.text));
  if (ts.isPropertyAssignment(node) || ts.isGetAccessorDeclaration(node)) {
    const call = node.parent.parent;
    if (node.name.getText() === "type" && ts.isCallExpression(call) && /\.register$/.test(call.expression.getText())) {
      found.push("api.ServiceWorker.ecmascript_modules");
    }
  }
  return found;
}

function isOutside(node) {
  for (let each = node.parent; each; each = each.parent) if (ts.isFunctionLike(each)) return false;
  return true;
}

/** @param {string} text of a regular expression @returns {string[]} */
function patternOf(text) {
  const flags = text.slice(text.lastIndexOf("/") + 1);
  const of = "javascript.regular_expressions";
  const found = [];
  if (/\(\?<[=!]/.test(text)) found.push(`${of}.lookbehind_assertion`);
  if (/\(\?<[A-Za-z]/.test(text)) found.push(`${of}.named_capturing_group`);
  if (/\(\?[ims]*-?[ims]*:/.test(text) && !text.includes("(?:")) found.push(`${of}.modifier`);
  if (/\\p\{/.test(text)) found.push(`${of}.unicode_character_class_escape`);
  const flag = { d: "hasIndices", s: "dotAll", u: "unicode", v: "unicodeSets", y: "sticky" };
  for (const each of flags) if (flag[each]) found.push(`javascript.builtins.RegExp.${flag[each]}`);
  return found;
}

// ---- elements ----------------------------------------------------------------------------------

/** What `h("tag", { attributes })` makes, the house's own way to make an element. @returns {[string, string][] | null} */
function madeBy(node) {
  if (!ts.isCallExpression(node) || !["h", "s"].includes(node.expression.getText())) return null;
  const [tag, given] = node.arguments;
  if (!tag || !ts.isStringLiteral(tag)) return null;
  const names =
    given && ts.isObjectLiteralExpression(given) ? given.properties.map((each) => each.name?.text ?? "") : [];
  return [[tag.text, ""], ...names.filter((each) => each && !each.startsWith("on")).map((each) => [tag.text, each])];
}

const PLAIN =
  /^(value|data-.*|aria-.*|role|d|x|y|x1|y1|x2|y2|cx|cy|r|rx|ry|viewBox|points|transform|fill|stroke.*|text-anchor|preserveAspectRatio)$/;
const SVG = new Set([
  "svg",
  "path",
  "g",
  "circle",
  "line",
  "rect",
  "text",
  "polyline",
  "ellipse",
  "title",
  "defs",
  "clipPath",
  "use",
]);

function noteElement(element, attribute, value, where, note) {
  if (element.includes("-") || SVG.has(element)) {
    if (SVG.has(element) && !attribute) note([`svg.elements.${element}`, `html.elements.${element}`], where);
    return;
  }
  if (!attribute) return note([`html.elements.${element}`], where);
  if (PLAIN.test(attribute)) return;
  if (attribute === "type" && element === "input")
    return note([`html.elements.input.type_${value}`, "html.elements.input"], where);
  const keys = [
    `html.elements.${element}.${attribute}`,
    `html.global_attributes.${attribute}`,
    `html.elements.input.${attribute}`,
  ];
  if (value) keys.unshift(`html.elements.${element}.${attribute}.${value}`);
  note(keys, where, `<${element} ${attribute}>`);
}

function readPage(file, root, note) {
  const text = fs
    .readFileSync(file, "utf8")
    .replace(/\{#[\s\S]*?#\}|\{%[\s\S]*?%\}|\{\{[\s\S]*?\}\}/g, (each) => each.replace(/[^\n]/g, " "));
  for (const { 1: element, 2: rest, index } of text.matchAll(
    /<([a-z][\w-]*)((?:\s+[\w:-]+(?:="[^"]*"|='[^']*'|=[^\s>]*)?)*)\s*\/?>/g,
  )) {
    const where = `${path.relative(root, file)}:${text.slice(0, index).split("\n").length}`;
    noteElement(element, "", "", where, note);
    for (const [, name, quoted = "", bare = ""] of rest.matchAll(/\s([\w:-]+)(?:="([^"]*)"|=([^\s>"]+))?/g)) {
      noteElement(element, name, (quoted || bare).trim(), where, note);
    }
  }
}

// ---- styles ------------------------------------------------------------------------------------

const UNITS = /^(px|cm|mm|in|pt|deg|s|ms|fr|em|dppx|turn)$/;

function readStyles(file, root, note) {
  const tree = csstree.parse(fs.readFileSync(file, "utf8"), { positions: true, parseCustomProperty: true });
  const at = (node) => `${path.relative(root, file)}:${node.loc?.start.line ?? "?"}`;
  let property = "";
  csstree.walk(tree, {
    enter(node) {
      if (node.type === "Declaration") {
        property = node.property;
        // One with a maker's prefix stands for what is missing without it, and can be done without.
        if (!/^-(-|webkit-)/.test(property)) note([`css.properties.${property}`], at(node));
        csstree.walk(node.value, (part) => {
          const where = at(node);
          const keyword = `css.properties.${property}.${part.name}`;
          if (part.type === "Identifier" && entry(keyword)) note([keyword], where);
          if (part.type === "Function") note(functionPlaces(part.name, property), where, `${part.name}()`);
          if (part.type === "Dimension" && !UNITS.test(part.unit)) note(unitPlaces(part.unit), where, part.unit);
        });
      }
      if (node.type === "Atrule") note([`css.at-rules.${node.name}`], at(node));
      if (node.type === "Feature")
        note(
          [`css.at-rules.media.${node.name.replace(/^(min|max)-/, "")}`, `css.at-rules.media.${node.name}`],
          at(node),
        );
      if (node.type === "PseudoClassSelector" || node.type === "PseudoElementSelector")
        note([`css.selectors.${node.name}`], at(node));
      if (node.type === "NestingSelector") note(["css.selectors.nesting"], at(node));
    },
  });
}

function functionPlaces(name, property) {
  const kinds = [
    "",
    "color.",
    "transform-function.",
    "easing-function.",
    "gradient.",
    "filter-function.",
    "image.",
    "basic-shape.",
  ];
  return [
    ...kinds.map((kind) => `css.types.${kind}${name}`),
    `css.properties.${property}.${name}`,
    `css.properties.grid-template-columns.${name}`,
    `css.properties.custom-property.${name}`,
  ];
}

function unitPlaces(unit) {
  const size = { d: "dynamic", s: "small", l: "large" }[unit[0]];
  if (/^[dsl]v(h|w|i|b|min|max)$/.test(unit)) return [`css.types.length.viewport_percentage_units_${size}`];
  if (/^cq/.test(unit)) return ["css.types.length.container_query_length_units"];
  return [`css.types.length.${unit}`];
}

console.log(
  JSON.stringify(Object.fromEntries(process.argv.slice(2).map((root) => [root, usesOf(path.resolve(root))]))),
);
