// The spray room's comforts: pot-life clocks that run, a timer, large buttons beside a number, and lots found by their code.
// Pages work without it.
"use strict";

(() => {
  // ---- pot-life clocks: counted from the server's clock, since a tablet's own may be wrong

  const readAt = performance.now();

  function runClocks() {
    for (const box of document.querySelectorAll("[data-clock]")) {
      const now = Date.parse(box.dataset.clock) + (performance.now() - readAt);
      for (const until of box.querySelectorAll("[data-until]")) {
        const words = until.closest("li, p").querySelector("[data-left]");
        const minutes = Math.floor((Date.parse(until.dataset.until) - now) / 60000);
        words.textContent = minutes < 0 ? "over now" : minutes < 1 ? "less than a minute left" : `${minutes} min left`;
        words.classList.toggle("pot-short", minutes < 15);
      }
    }
  }

  // ---- the timer: kept on the device, so that a page that is closed does not lose it

  const two = (number) => String(number).padStart(2, "0");

  function setUpTimer(box) {
    const user = document.querySelector("[data-user]")?.dataset.user ?? "";
    const slot = `timer:${user}:${box.dataset.timer}`;
    const form = box.closest("form");
    const minutes = form.querySelector("[name=minutes]");
    const [start, stop] = [box.querySelector("[data-timer-start]"), box.querySelector("[data-timer-stop]")];
    const begun = () => localStorage.getItem(slot);

    function show() {
      const since = begun();
      start.hidden = Boolean(since);
      stop.hidden = !since;
      if (since) {
        const seconds = Math.max(0, Math.floor((Date.now() - Date.parse(since)) / 1000));
        const hours = Math.floor(seconds / 3600);
        const rest = `${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
        box.querySelector("[data-timer-shown]").textContent = hours ? `${hours}:${rest}` : rest;
      }
    }

    start.addEventListener("click", () => {
      localStorage.setItem(slot, new Date().toISOString());
      show();
    });
    stop.addEventListener("click", () => {
      const since = begun();
      form.querySelector("[name=device_start]").value = since;
      // A minute is the least that anybody writes down.
      minutes.value = String(Math.max(1, Math.round((Date.now() - Date.parse(since)) / 60000)));
      localStorage.removeItem(slot);
      show();
    });
    // Who types the minutes means them: the timer no longer counts.
    minutes.addEventListener("input", () => {
      form.querySelector("[name=device_start]").value = "";
    });
    window.setInterval(show, 1000);
    show();
  }

  // ---- − and + beside a number

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-step]");
    const box = button?.closest("[data-steppers]");
    if (!box) {
      return;
    }
    const field = box.closest("form").querySelector(`[name="${box.dataset.steppers}"]`);
    field.value = String(Math.max(0, (Number(field.value) || 0) + Number(button.dataset.step)));
    field.dispatchEvent(new Event("input", { bubbles: true }));
  });

  // ---- a scanned code chooses its lot; what no lot here has goes to the server, which says so

  const lotOf = (text) => [...document.querySelectorAll("[data-lot-number]")].filter((choice) => {
    const number = choice.dataset.lotNumber;
    return number && (text === number || text.endsWith(`10${number}`) || text.includes(`10${number}\u001d`) || text.includes(`(10)${number}`));
  }).sort((one, other) => other.dataset.lotNumber.length - one.dataset.lotNumber.length)[0];

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    if (event.key !== "Enter" || !field.matches?.("[data-scan-lot]")) {
      return;
    }
    event.preventDefault(); // a scanner ends with Enter: that must not send the form
    const choice = lotOf(field.value.trim());
    if (choice) {
      choice.checked = true;
      choice.closest("details").open = true;
      field.value = "";
      choice.dispatchEvent(new Event("change", { bubbles: true }));
    } else {
      field.select();
      field.setCustomValidity(`No lot of this step has the code “${field.value.trim()}”. Tap the lot instead.`);
      field.reportValidity();
    }
  });
  document.addEventListener("input", (event) => {
    if (event.target.matches?.("[data-scan-lot]")) {
      event.target.setCustomValidity("");
    }
  });

  document.addEventListener("DOMContentLoaded", () => {
    document.querySelectorAll("[data-timer]").forEach(setUpTimer);
    runClocks();
    window.setInterval(runClocks, 5000);
  });
})();
