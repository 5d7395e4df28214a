/** What a kind of record is called: the desk's page holds it with the kind's form. */

/** @param {string} kind @returns {{one?: string, many?: string, hint?: string}} empty for a kind without a form */
export function aboutKind(kind) {
  return document.getElementById(`form-${kind}`)?.dataset ?? {};
}
