/** Starts the bench, on the first visit once all that it needs is on the phone. It runs while the page is still read. */

async function start() {
  const [{ screenAt }, { firstVisit }] = await Promise.all([import("./addresses.js"), import("./offline.js")]);
  await firstVisit();
  const screen = screenAt(location.hash);
  askForAll(screen.name);
  // The two have little in common: together they come sooner than one after the other. What the screen misses is for
  // the app to say.
  screen.load().catch(() => undefined);
  await import("./app.js");
}

/** Ask for every module of the start and of a screen: else each of a dozen layers of imports waits for the one before it.
 * @param {string} screen */
function askForAll(screen) {
  for (const id of ["modules", `modules-${screen}`]) {
    const links = document.getElementById(id);
    if (links instanceof HTMLTemplateElement) document.head.append(links.content);
  }
}

/** The words stand in the page: anything else might be missing as well. @param {unknown} error */
async function tellMissing(error) {
  console.error(error);
  if (document.readyState === "loading") {
    await new Promise((resolve) => document.addEventListener("DOMContentLoaded", resolve, { once: true }));
  }
  const wait = document.querySelector("#screen > .wait");
  wait?.classList.add("failed");
  wait?.querySelector("a")?.addEventListener("click", (event) => {
    event.preventDefault();
    location.reload();
  });
}

start().catch(tellMissing);
