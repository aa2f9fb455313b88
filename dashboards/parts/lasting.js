/* One look a second: is the server there, and is it time to load this page afresh? */
(() => {
  const told = HOLDWATCH_TOLD;
  if (window.holdwatchLasting) { window.holdwatchLasting.told = told; return; } // it runs on from page to page
  const state = window.holdwatchLasting = { told };
  const SCROLLED = "holdwatch-scrolled";
  const ASK_EVERY_MS = 5000, LOST_AFTER_MS = 6000, SCROLL_FOR_MS = 60000;
  const began = Date.now();
  let touched = began, heard = began, asked = 0, leaving = false, returning = false, banner = null;
  const typed = new Set();
  const main = () => document.querySelector("[data-testid=stMain]");

  function touch() { // whoever comes while the page is just going keeps it
    touched = Date.now();
    if (leaving) { leaving = false; window.stop(); }
  }
  for (const name of ["pointerdown", "keydown", "wheel", "touchmove"]) {
    addEventListener(name, touch, { capture: true, passive: true });
  }
  addEventListener("input", (event) => {
    touch();
    if (event.target.matches("textarea, input:not([type=checkbox], [type=radio])")) typed.add(event.target);
  }, true);

  async function ask() { // a socket may look open for minutes after the network has gone
    asked = Date.now();
    try {
      const answer = await fetch("/_stcore/health", { cache: "no-store", signal: AbortSignal.timeout(4000) });
      if (answer.ok) heard = Date.now();
      return answer.ok;
    } catch { return false; }
  }
  const connected = () => document.querySelector("[data-testid=stApp]")?.dataset.testConnectionState === "CONNECTED";

  function say(since) {
    if (!banner) {
      banner = document.createElement("div");
      banner.className = "hw hw-trouble hw-lost";
      banner.setAttribute("role", "alert");
      const at = new Date(since);
      const two = (number) => String(number).padStart(2, "0");
      banner.textContent = state.told.lost.replace("{at}", `${two(at.getHours())}:${two(at.getMinutes())}`);
      document.body.append(banner);
    }
  }

  function dismiss() { // Streamlit's own words ask a cook for the internet, and take the place of what is being typed
    for (const dialog of document.querySelectorAll("[role=dialog]")) {
      if (dialog.textContent.startsWith("Connection error")) dialog.querySelector("button[aria-label=Close]")?.click();
    }
  }

  function holdsText() {
    for (const field of typed) if (!field.isConnected || !field.value) typed.delete(field);
    return typed.size > 0;
  }

  // Chromium lets a page sound on after it has loaded itself afresh; elsewhere it would wait, mute, for the next touch
  const wouldFallSilent = () => !performance.memory && document.cookie.includes(`${state.told.sound}=on`);

  let together = began; // when server and socket were last well together
  async function look() {
    const now = Date.now();
    if (now - asked >= ASK_EVERY_MS) await ask();
    if (connected() && now - heard < ASK_EVERY_MS + LOST_AFTER_MS) {
      together = now;
      if (banner) { banner.remove(); banner = null; }
    } else {
      dismiss();
      if (now - together > LOST_AFTER_MS) say(together);
    }
    // a tablet that loads while its server is away would show the browser's own page; and asking may take seconds, in
    // which somebody may have begun to write
    if (mayGo() && await ask() && mayGo()) {
      leaving = true;
      location.reload();
    }
    setTimeout(look, 1000);
  }

  function mayGo() {
    const { afreshMs, quietMs } = state.told, now = Date.now();
    return !leaving && !returning && !banner && now - began > afreshMs && now - touched > quietMs
      && !holdsText() && !wouldFallSilent();
  }

  addEventListener("pagehide", () => {
    if (leaving) sessionStorage.setItem(SCROLLED, JSON.stringify([location.href, main()?.scrollTop ?? 0]));
  });

  function scrollBack() { // a slow tablet has not drawn the page yet: what is too short now grows
    const [where, top] = JSON.parse(sessionStorage.getItem(SCROLLED) ?? "[]");
    sessionStorage.removeItem(SCROLLED);
    if (where !== location.href || !top) return;
    const step = () => {
      const page = main();
      if (page && touched === began && page.scrollTop < top) page.scrollTop = top;
      returning = touched === began && (page?.scrollTop ?? 0) < top && Date.now() - began < SCROLL_FOR_MS;
      if (returning) setTimeout(step, 200);
    };
    step();
  }

  scrollBack();
  look();
})();
