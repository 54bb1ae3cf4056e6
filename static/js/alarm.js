/* Calls the moments of In hand when they come: a line on the page, a tone where sound is on, a notification
   where those are allowed. Nothing is counted down: what has come follows from the instants that the server
   wrote into the page, so that sleep, a reload or a wrong clock in the tablet cannot bend it. Without this
   file the page shows the same moments at its next load. */
(() => {
  "use strict";

  const CALLED_FOR = 10 * 60000;
  const TONE_EVERY = 30000;
  /* A page kept by the server is at most a minute old; if it seems older than this, its clock was moved. */
  const STALE = 90000;
  const SLEPT = 5000;
  const ASK_AGAIN = 5000;
  const SOUND = "tackfree-sound";
  const NOTIFIED = "tackfree-notified";

  const $ = (id) => document.getElementById(id);

  /* Remembered on this device, or for this page alone where the browser keeps nothing. */
  const remembered = new Map();
  const recall = (name) => {
    try {
      return localStorage.getItem(name) ?? remembered.get(name);
    } catch {
      return remembered.get(name);
    }
  };
  const remember = (name, value) => {
    remembered.set(name, value);
    try {
      localStorage.setItem(name, value);
    } catch {
      /* It lasts until the page is left. */
    }
  };

  /* The server's instant: never earlier than the page says, carried on by the steady clock. */
  let ahead = -Infinity;
  const now = () => ahead + performance.now();
  const readClock = () => {
    const said = Date.parse($("moments")?.dataset.now);
    if (said > now() || said < now() - STALE) ahead = said - performance.now();
  };

  const comeAt = (line) => Date.parse(line.dataset.at);
  const nameOf = (line) => `${line.dataset.moment}@${line.dataset.at}`;
  const part = (line, name) => line.querySelector(`[data-part="${name}"]`);

  /* The lines ---------------------------------------------------------------- */
  const call = (next) => {
    const list = $("moment-empty").content.cloneNode(true).firstElementChild;
    const line = list.querySelector("[data-moment]");
    line.dataset.moment = next.dataset.moment;
    line.dataset.at = next.dataset.at;
    if ("sounds" in next.dataset) line.dataset.sounds = "";
    line.querySelector("use").setAttribute("href", `#${next.dataset.symbol}`);
    for (const name of ["who", "says"]) part(line, name).textContent = part(next, name).textContent;
    part(line, "who").href = part(next, "who").href;
    part(line, "who").id = part(next, "who").id;
    part(line, "times").textContent = next.dataset.times;
    part(line, "about").textContent = `: ${part(next, "who").textContent} ${part(next, "says").textContent}`;
    line.querySelector("[name=key]").value = nameOf(next);
    line.querySelector("button").id = `seen-${next.dataset.moment}`;
    next.remove();
    $("moments-called").append(list);
    globalThis.htmx?.process(list);
    $("moments-none")?.remove();
    const all = $("moments-all").querySelector("[name=all]");
    if (comeAt(next) > Date.parse(all.value)) all.value = next.dataset.at;
    $("moments-all").hidden = calls().length < 2;
  };

  const calls = () => [...document.querySelectorAll("#moments .moment[data-moment]")];
  const callWhatHasCome = () => {
    const coming = [...document.querySelectorAll("#moments .coming [data-moment]")];
    for (const line of coming.filter((each) => comeAt(each) <= now())) call(line);
  };

  /* Sound ---------------------------------------------------------------- */
  let context = null;
  let tonedAt = -Infinity;
  const toned = new Set();
  const wantsSound = () => recall(SOUND) === "on";
  const canSound = () => wantsSound() && context?.state === "running";

  const tone = () => {
    tonedAt = performance.now();
    for (const [start, hertz] of [[0, 784], [0.28, 1047]]) {
      const from = context.currentTime + start;
      const wave = context.createOscillator();
      const loud = context.createGain();
      wave.frequency.value = hertz;
      loud.gain.setValueAtTime(0.0001, from);
      loud.gain.exponentialRampToValueAtTime(0.4, from + 0.03);
      loud.gain.exponentialRampToValueAtTime(0.0001, from + 0.25);
      wave.connect(loud).connect(context.destination);
      wave.start(from);
      wave.stop(from + 0.26);
    }
  };

  /* Browsers let a page make sound only after a tap on it, so it is asked for again at each. */
  const openSound = async () => {
    if (!wantsSound() || !("AudioContext" in window)) return;
    context ??= new AudioContext();
    if (context.state !== "running") await context.resume();
    showState();
  };

  /* The line is on the page before its tone: nothing is told by sound alone. */
  const sound = (fresh) => {
    if (!canSound() || !fresh.length) return;
    const isNew = fresh.some((line) => !toned.has(nameOf(line)));
    if (!isNew && performance.now() - tonedAt < TONE_EVERY) return;
    for (const line of fresh) toned.add(nameOf(line));
    tone();
  };

  /* Notifications ---------------------------------------------------------------- */
  const notified = () => {
    try {
      const kept = JSON.parse(recall(NOTIFIED) ?? "[]");
      return Array.isArray(kept) ? kept : [];
    } catch {
      return [];
    }
  };
  const mayNotify = () => "Notification" in window && Notification.permission === "granted";
  const say = (words) => {
    $("alarm-notes").textContent = words;
  };

  const notify = (fresh) => {
    const before = notified();
    const told = fresh.filter((line) => !before.includes(nameOf(line)));
    if (!told.length || !mayNotify()) return;
    remember(NOTIFIED, JSON.stringify([...before, ...told.map(nameOf)].slice(-200)));
    try {
      for (const line of told) {
        const body = `${part(line, "says").textContent} (${part(line, "times").textContent})`;
        new Notification(part(line, "who").textContent, { body, tag: line.dataset.moment });
      }
    } catch (fault) {
      say(`This browser shows no notifications from a page (${fault.name}).`);
    }
  };

  const askForNotifications = async () => {
    const answer = await Notification.requestPermission();
    /* Whoever switches them on reads the page just then; only what comes from now on is told. */
    if (answer === "granted") remember(NOTIFIED, JSON.stringify(calls().map(nameOf)));
    say(answer === "granted" ? "" : "The browser does not allow notifications from this address.");
    showState();
  };

  /* The switches ---------------------------------------------------------------- */
  const showState = () => {
    const panel = $("alarm");
    if (!panel) return;
    const words = canSound()
      ? "Sound is on."
      : wantsSound()
        ? "Sound waits for the first tap on this page; the browser allows none before."
        : "Sound is off on this tablet: what comes is only shown here.";
    const told = mayNotify() ? `${words} Notifications are on.` : words;
    if ($("alarm-says").textContent !== told) $("alarm-says").textContent = told;
    $("alarm-sound").textContent = wantsSound() ? "Switch the sound off" : "Sound on this tablet";
    $("alarm-test").hidden = !wantsSound();
    $("alarm-notify").hidden = !("Notification" in window) || Notification.permission === "granted";
  };

  /* Also drawn anew where a form gave the whole page back. */
  const showPanel = () => {
    const panel = $("alarm");
    if (!panel?.hidden) return;
    panel.hidden = false;
    /* Open until somebody has chosen, but for a phone, where it would take up half of what is seen. */
    panel.open = !recall(SOUND) && matchMedia("(min-width: 48rem)").matches;
    showState();
  };

  document.addEventListener("click", async (event) => {
    const button = event.target.closest?.("#alarm button");
    if (button?.id === "alarm-notify") await askForNotifications();
    if (button?.id === "alarm-sound") {
      remember(SOUND, wantsSound() ? "off" : "on");
      showState();
    }
    await openSound();
    if (canSound() && (button?.id === "alarm-test" || button?.id === "alarm-sound")) tone();
  });
  document.addEventListener("keydown", openSound);

  /* Each second ---------------------------------------------------------------- */
  let wall = Date.now() - performance.now();
  const noticeSleep = () => {
    const jump = Date.now() - performance.now() - wall;
    wall += jump;
    if (Math.abs(jump) <= SLEPT) return;
    /* The steady clock may stand still while a tablet sleeps, so what the other has gone on is time that has
       passed. If it was only set forward, the server's answer takes it back. */
    if (jump > 0) ahead += jump;
    wake();
  };

  /* Just after sleep there is often no network yet, so the server is asked until it has answered. */
  let askedAt = null;
  const wake = () => {
    askedAt = performance.now();
    $("in-hand")?.dispatchEvent(new CustomEvent("wake"));
  };
  const askAgain = () => {
    if (askedAt !== null && performance.now() - askedAt >= ASK_AGAIN) wake();
  };

  const look = () => {
    if (!$("moments")) return;
    callWhatHasCome();
    const fresh = calls().filter((line) => "sounds" in line.dataset && now() - comeAt(line) < CALLED_FOR);
    sound(fresh);
    notify(fresh);
  };

  /* What was opened stays open when the list is drawn anew; whoever tapped Seen goes on from the head. */
  const opened = new Set();
  let tapped = false;
  document.addEventListener("toggle", (event) => {
    if (!event.target.matches?.("#moments details[id]")) return;
    if (event.target.open) opened.add(event.target.id);
    else opened.delete(event.target.id);
  }, { capture: true });
  document.addEventListener("submit", (event) => {
    tapped = event.target.matches(".moment-seen");
  });

  const drawnAnew = () => {
    if (!$("moments")) return;
    askedAt = null;
    for (const more of document.querySelectorAll("#moments details[id]")) more.open = opened.has(more.id);
    if (tapped && !$("in-hand").contains(document.activeElement)) $("h-moments").focus();
    tapped = false;
    showPanel();
    readClock();
    look();
  };

  document.addEventListener("htmx:after:swap", drawnAnew);
  document.addEventListener("visibilitychange", () => {
    if (!document.hidden) wake();
  });
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) wake();
  });
  setInterval(() => {
    noticeSleep();
    askAgain();
    look();
  }, 1000);

  showPanel();
  readClock();
  openSound();
  look();
})();
