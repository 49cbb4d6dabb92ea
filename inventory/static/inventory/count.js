// Counting on a tablet: says of each line whether it is saved, tries again after a lost connection, and does not let the
// page be left while something is unsaved. Without script the button at the end of the page saves all lines.
"use strict";

(() => {
  const AGAIN = 5000; // milliseconds until a line that was not saved is sent again
  const WORDS = {
    typing: "Not saved yet",
    lost: "Not saved: no connection. It is sent again by itself; leave this page open.",
    fault: "Not saved: something went wrong. It is sent again by itself; leave this page open.",
    out: "Not saved: you are signed out. Sign in in another tab; then it is sent again by itself.",
  };
  let leaving = false;

  const lineOf = (element) => element?.closest?.("[data-count-line]");

  function say(line, words) {
    line.dataset.unsaved = "";
    const state = line.querySelector(".count-state");
    const shown = state.querySelector(".count-wait") ?? state.appendChild(document.createElement("p"));
    shown.className = "count-wait soft";
    if (shown.textContent !== words) {
      shown.textContent = words;
    }
  }

  function later(line, words) {
    say(line, words);
    window.setTimeout(() => {
      if ("unsaved" in line.dataset) {
        window.htmx.trigger(line, "again");
      }
    }, AGAIN);
  }

  document.addEventListener("input", (event) => {
    const line = lineOf(event.target);
    if (line) {
      say(line, WORDS.typing);
      line.dataset.typed = String(Number(line.dataset.typed ?? 0) + 1);
    }
  });

  document.addEventListener("htmx:beforeRequest", (event) => {
    const line = lineOf(event.detail.elt);
    if (line) {
      line.dataset.sent = line.dataset.typed ?? "0";
    }
  });

  // Signing in anew changes the token that the page was made with; the cookie has the one that counts now.
  document.addEventListener("htmx:configRequest", (event) => {
    const now = document.cookie.split("; ").find((part) => part.startsWith("csrftoken="));
    if (lineOf(event.detail.elt) && now) {
      event.detail.parameters.csrfmiddlewaretoken = decodeURIComponent(now.slice("csrftoken=".length));
    }
  });

  document.addEventListener("htmx:afterSwap", (event) => {
    const line = lineOf(event.detail.target);
    if (!line) {
      return;
    }
    line.querySelector(".count-found").classList.toggle("field-error", line.querySelector(".count-state .errorlist") !== null);
    if (line.dataset.sent === (line.dataset.typed ?? "0")) {
      delete line.dataset.unsaved;
    } else {
      say(line, WORDS.typing); // somebody typed on while it was being sent
    }
  });

  // Caught on the way down: the line says it itself, so the page need not.
  for (const name of ["htmx:sendError", "htmx:responseError", "htmx:timeout"]) {
    document.addEventListener(
      name,
      (event) => {
        const line = lineOf(event.detail.elt);
        if (line) {
          event.stopPropagation();
          later(line, { 0: WORDS.lost, 401: WORDS.out }[event.detail.xhr?.status ?? 0] ?? WORDS.fault);
        }
      },
      true,
    );
  }

  window.addEventListener("online", () => {
    for (const line of document.querySelectorAll("[data-count-line][data-unsaved]")) {
      window.htmx.trigger(line, "again");
    }
  });

  document.addEventListener("submit", (event) => {
    leaving = leaving || "countForm" in event.target.dataset;
  });

  window.addEventListener("beforeunload", (event) => {
    if (!leaving && document.querySelector("[data-count-line][data-unsaved]")) {
      event.preventDefault();
    }
  });

  // Enter goes on to the next lot, and saves on the way since the field is left.
  document.addEventListener("keydown", (event) => {
    const line = lineOf(event.target);
    if (!line || event.key !== "Enter" || event.isComposing || event.ctrlKey || event.metaKey || event.altKey) {
      return;
    }
    event.preventDefault();
    const lines = [...document.querySelectorAll("[data-count-line]")];
    const next = lines[lines.indexOf(line) + 1]?.querySelector("input:not([type=hidden])");
    if (next) {
      next.focus();
      next.select();
    } else {
      event.target.blur();
    }
  });
})();
