/**
 * The desk's part of the page: the templates and style sheets of the screens that the bench can do without. They come
 * in the second pack, with those screens.
 */

/** @type {Promise<void> | undefined} */
let opened;

/**
 * Put the desk's part into the page, once.
 * @returns {Promise<void>}
 * @throws {Error} it can't be had now, or is of another version than the page; asked again, it tries again
 */
export function openDesk() {
  opened ??= bringDesk().catch((error) => {
    opened = undefined;
    throw error;
  });
  return opened;
}

async function bringDesk() {
  const desk = await fetchDocument("/desk.html");
  if (desk.documentElement.dataset.edition !== document.documentElement.dataset.edition) {
    throw new Error("The desk is of another version than the page");
  }
  const sheets = /** @type {HTMLLinkElement[]} */ ([...desk.querySelectorAll("link[rel=stylesheet]")]);
  try {
    await Promise.all(sheets.map(addStyleSheet));
  } catch (error) {
    for (const sheet of sheets) sheet.remove();
    throw error;
  }
  document.body.append(...desk.querySelectorAll("template"));
}

/**
 * A document, parsed by the browser as it comes: Trusted Types let no text become markup.
 * @param {string} url @returns {Promise<Document>}
 */
function fetchDocument(url) {
  return new Promise((resolve, reject) => {
    const request = new XMLHttpRequest();
    request.open("GET", url);
    request.responseType = "document";
    const failed = () => reject(new Error(`${url} can't be had (${request.status})`));
    request.onload = () => (request.status === 200 && request.response ? resolve(request.response) : failed());
    request.onerror = failed;
    request.onabort = failed;
    request.send();
  });
}

/** Nothing of the desk is shown before its style sheets are there. @param {HTMLLinkElement} sheet @returns {Promise<void>} */
function addStyleSheet(sheet) {
  return new Promise((resolve, reject) => {
    sheet.onload = () => resolve();
    sheet.onerror = () => reject(new Error(`${sheet.href} can't be had`));
    // Paper comes before the board, as in the page itself.
    document.head.insertBefore(sheet, document.querySelector('link[href$="/board.css"]'));
  });
}
