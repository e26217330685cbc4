// The page comes with its words (src/server/first_page.c). They are painted before anything is computed
// here; what a hand does meanwhile is kept and done as soon as there is somebody to do it.
const wait_most_ms = 400;
const desk = document.getElementById("desk")!;
// A long passage comes with the words of the first screen; the others wait for these to be painted.
const whole = () => document.querySelectorAll<HTMLTemplateElement>("template.rest").forEach((rest) => rest.replaceWith(rest.content));
const come = () => {
  whole();
  document.querySelectorAll<HTMLLinkElement>("link[rel=needed]").forEach((link) => { link.rel = "modulepreload"; });
  return import("./main");
};

// The words themselves, in their font, where the browser tells; elsewhere the frame they are in.
const painted = () => new Promise<void>((done) => {
  setTimeout(done, wait_most_ms);
  if (PerformanceObserver.supportedEntryTypes.includes("element"))
    new PerformanceObserver((_, watch) => { watch.disconnect(); done(); }).observe({ type: "element", buffered: true });
  else void document.fonts.load("20px scripture", "ا").then(() => requestAnimationFrame(() => setTimeout(done)), done);
});

if (!desk.firstElementChild || document.hidden) void come();
else {
  const early: Event[] = [], keep = (event: Event) => { early.push(event); };
  desk.addEventListener("click", keep);
  desk.addEventListener("keydown", keep);
  void painted().then(come).then(() => {
    desk.removeEventListener("click", keep);
    desk.removeEventListener("keydown", keep);
    for (const event of early)
      if (event.target instanceof Element && event.target.isConnected)
        event.target.dispatchEvent(event instanceof KeyboardEvent ? new KeyboardEvent(event.type, event) : new MouseEvent(event.type, event as MouseEvent));
  });
}
