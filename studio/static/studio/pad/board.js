// Getting the pad on board, and learning when somebody left through the door.

export function onBoard(figures, tell) {
  const worker = navigator.serviceWorker;
  if (!worker) {
    tell("unsafe"); // browsers offer it on https and on this machine alone
    return;
  }
  worker.addEventListener("message", ({ data }) => data?.pad && tell(data.pad));
  worker.startMessages?.();
  worker
    .register("/pad-worker.js", { scope: "/", updateViaCache: "none" })
    .then(() => worker.ready)
    .then(({ active }) => active.postMessage({ keep: true, page: location.pathname, parts: [...standsOn(), ...figures] }))
    .catch(() => tell(navigator.onLine ? "not on board" : "as it was"));
}

// Everything that this page was made of: styles, the page's scripts and the modules that they brought.
function standsOn() {
  const named = [...document.querySelectorAll('link[rel="stylesheet"], link[rel="icon"], script[src]')].map(
    (found) => found.href || found.src,
  );
  const brought = performance
    .getEntriesByType("resource")
    .map((entry) => entry.name)
    .filter((name) => new URL(name).pathname.startsWith("/static/"));
  return [...new Set([...named, ...brought])].filter((name) => new URL(name).origin === location.origin);
}
