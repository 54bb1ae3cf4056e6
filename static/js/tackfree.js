/* Small comforts. Every page works without this file. */
(() => {
  "use strict";

  /* "in 2 h 10 min" beside a time, drawn from the server's instant plus what has passed on a steady clock. */
  const sayDistance = (minutes) => {
    const far = Math.abs(minutes);
    const days = Math.floor(far / 1440);
    const hours = Math.floor((far % 1440) / 60);
    const parts = [days && `${days} d`, hours && `${hours} h`, !days && `${far % 60} min`].filter(Boolean);
    return minutes < 0 ? `${parts.join(" ")} ago` : `in ${parts.join(" ")}`;
  };

  const drawTimes = () => {
    for (const time of document.querySelectorAll("time.until[datetime][data-now]")) {
      time.dataset.seen ??= String(performance.now());
      const now = Date.parse(time.dataset.now) + performance.now() - Number(time.dataset.seen);
      const minutes = Math.round((Date.parse(time.dateTime) - now) / 60000);
      if (Number.isNaN(minutes)) continue;
      let words = time.querySelector(".distance");
      if (!words) {
        words = document.createElement("span");
        words.className = "distance";
        time.append(" ", words);
      }
      words.textContent = `(${sayDistance(minutes)})`;
    }
  };

  /* A second tap of a gloved finger does not send the same form twice. */
  const guardSubmit = (event) => {
    const form = event.target;
    if (form.dataset.sent && performance.now() - Number(form.dataset.sent) < 2000) {
      event.preventDefault();
      event.stopImmediatePropagation();
    } else {
      form.dataset.sent = String(performance.now());
    }
  };
  document.addEventListener("submit", guardSubmit, { capture: true });

  /* A wall tablet that cannot reach the shop's computer says so, instead of showing old times in silence. */
  const notice = document.getElementById("notice");
  document.addEventListener("htmx:error", () => {
    if (!notice) return;
    const words = document.createElement("p");
    words.className = "warning";
    words.id = "out-of-touch";
    words.textContent = "The shop's computer did not answer. What you see here may be old.";
    document.getElementById("out-of-touch") ?? notice.append(words);
  });
  document.addEventListener("htmx:after:swap", () => {
    document.getElementById("out-of-touch")?.remove();
    drawTimes();
  });

  drawTimes();
  setInterval(drawTimes, 30000);
})();
