// Comforts on top of pages that work without script: questions before dangerous steps, forms sent once,
// rows added to a table, and the keys that move through them.
"use strict";

(() => {
  // ---- a question before a dangerous step: <button data-confirm="…"> or <form data-confirm="…">
  // data-confirm-ticks="lots": %n in the question is how many boxes of that name are ticked; for none nothing is asked,
  // the server says what is missing.

  function questionOf(form, submitter) {
    const question = submitter?.dataset.confirm ?? form.dataset.confirm;
    const box = form.dataset.confirmTicks;
    if (!question || !box) {
      return question;
    }
    const ticked = form.querySelectorAll(`input[name="${box}"]:checked`).length;
    return ticked ? question.replace("%n", String(ticked)) : "";
  }

  document.addEventListener("submit", (event) => {
    const form = event.target;
    const question = questionOf(form, event.submitter);
    if (question && !window.confirm(question)) {
      event.preventDefault();
    }
  });

  // ---- a form that changes something is sent once; the server's own key guards the rest

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (event.defaultPrevented || form.getAttribute("method")?.toLowerCase() !== "post" || "sendAgain" in form.dataset) {
      return;
    }
    if ("sent" in form.dataset) {
      event.preventDefault();
      return;
    }
    form.dataset.sent = "";
    // A slow network must not lock a form for good.
    window.setTimeout(() => delete form.dataset.sent, 8000);
  });

  window.addEventListener("pageshow", () => {
    for (const form of document.querySelectorAll("form[data-sent]")) {
      delete form.dataset.sent;
    }
  });

  // ---- a part of the page that could not be fetched: say so, and leave what was typed

  const UNREACHED = "The program can’t be reached, so this page does not answer. What you typed is still here.";
  const FAULTY = "Something went wrong, so a part of this page did not change. What you typed is still here.";

  function tell(words) {
    const place = document.getElementById("messages");
    if (!place || place.textContent.includes(words)) {
      return;
    }
    const message = document.createElement("div");
    message.className = "message message-error";
    message.setAttribute("role", "alert");
    const said = document.createElement("p");
    said.textContent = words;
    message.append(said);
    place.append(message);
    message.scrollIntoView({ block: "nearest" });
  }

  document.addEventListener("htmx:responseError", (event) => {
    const answer = event.detail.xhr;
    tell(answer.status === 401 ? answer.responseText : FAULTY);
  });
  document.addEventListener("htmx:sendError", () => tell(UNREACHED));

  // ---- what was typed and is not saved: a form with data-unsaved asks before its page is left

  const markChanged = (event) => {
    const form = event.target.closest?.("form[data-unsaved]");
    if (form) {
      form.dataset.changed = "";
    }
  };
  document.addEventListener("input", markChanged);
  document.addEventListener("change", markChanged);

  document.addEventListener("submit", (event) => {
    if (!event.defaultPrevented) {
      delete event.target.dataset.changed;
    }
  });

  window.addEventListener("beforeunload", (event) => {
    if (document.querySelector("form[data-unsaved][data-changed]")) {
      event.preventDefault();
    }
  });

  // ---- rows of a formset

  const rowsOf = (box) => box.querySelector("[data-formset-rows]");

  function addRow(box) {
    const total = box.parentElement.querySelector(`[name="${box.dataset.formset}-TOTAL_FORMS"]`);
    const most = box.parentElement.querySelector(`[name="${box.dataset.formset}-MAX_NUM_FORMS"]`);
    const number = Number(total.value);
    if (most && number >= Number(most.value)) {
      return null;
    }
    const fresh = box.querySelector("[data-formset-empty]").content.cloneNode(true);
    for (const element of fresh.querySelectorAll("*")) {
      for (const attribute of element.attributes) {
        attribute.value = attribute.value
          .replaceAll("__prefix__", String(number))
          .replaceAll("__row__", String(number + 1));
      }
    }
    const name = fresh.querySelector(".row-number");
    if (name) {
      name.firstChild.textContent = String(number + 1);
    }
    const row = fresh.querySelector("[data-formset-row]");
    rowsOf(box).append(fresh);
    total.value = String(number + 1);
    return row;
  }

  const inputsOf = (row) =>
    [...row.querySelectorAll("input, select, textarea")].filter((field) => field.type !== "hidden");

  function moveTo(row, column) {
    const field = inputsOf(row)[column];
    if (!field) {
      return;
    }
    field.focus();
    if (field.select) {
      field.select();
    }
  }

  // Ctrl+D takes the field above, Ctrl+Shift+D the whole row above; the button repeats the last row with something in it.
  function takeOver(from, to) {
    if (to.type === "checkbox") {
      return; // a mark such as "remove" is meant for its own row only
    }
    to.value = from.value;
    to.dispatchEvent(new Event("input", { bubbles: true }));
    to.dispatchEvent(new Event("change", { bubbles: true }));
  }

  function copyRow(from, to) {
    const source = inputsOf(from);
    inputsOf(to).forEach((field, column) => takeOver(source[column], field));
  }

  const isFilled = (row) => inputsOf(row)[0]?.value.trim() !== "";

  document.addEventListener("click", (event) => {
    const box = event.target.closest("[data-formset-repeat]")?.closest("[data-formset]");
    if (!box) {
      return;
    }
    const rows = [...rowsOf(box).querySelectorAll("[data-formset-row]")];
    const last = rows.findLastIndex(isFilled);
    const free = rows[last + 1] ?? (last >= 0 ? addRow(box) : null);
    if (last >= 0 && free) {
      copyRow(rows[last], free);
      moveTo(free, 0);
    }
  });

  document.addEventListener("keydown", (event) => {
    const row = event.target.closest?.("[data-formset-row]");
    if (!row || !event.ctrlKey || event.altKey || event.metaKey || event.key.toLowerCase() !== "d") {
      return;
    }
    const rows = [...row.closest("[data-formset-rows]").querySelectorAll("[data-formset-row]")];
    const above = rows[rows.indexOf(row) - 1];
    event.preventDefault();
    if (!above) {
      return;
    }
    const column = inputsOf(row).indexOf(event.target);
    if (event.shiftKey) {
      copyRow(above, row);
    } else if (column >= 0) {
      takeOver(inputsOf(above)[column], event.target);
    }
  });

  document.addEventListener("click", (event) => {
    const button = event.target.closest("[data-formset-add]");
    if (!button) {
      return;
    }
    const row = addRow(button.closest("[data-formset]"));
    if (row) {
      moveTo(row, 0);
    }
  });

  document.addEventListener("keydown", (event) => {
    const field = event.target;
    const box = field.closest?.("[data-formset]");
    const row = field.closest?.("[data-formset-row]");
    if (!box || !row || event.altKey || event.ctrlKey || event.metaKey || event.isComposing) {
      return;
    }
    const down = event.key === "Enter" || event.key === "ArrowDown";
    if (!down && event.key !== "ArrowUp") {
      return;
    }
    // Selects, dates and number boxes use the arrows themselves; a text area and a button use Enter.
    const own = field.matches("select, input[type=number], input[type=date], textarea");
    if ((own && event.key !== "Enter") || field.matches("textarea, button")) {
      return;
    }
    const rows = [...rowsOf(box).querySelectorAll("[data-formset-row]")];
    const index = rows.indexOf(row);
    const column = inputsOf(row).indexOf(field);
    event.preventDefault();
    if (!down) {
      if (index > 0) {
        moveTo(rows[index - 1], column);
      }
    } else if (index + 1 < rows.length) {
      // Enter begins the next row, as one types row by row; the arrows stay in their column.
      moveTo(rows[index + 1], event.key === "Enter" ? 0 : column);
    } else if (event.key === "Enter") {
      const added = addRow(box);
      if (added) {
        moveTo(added, 0);
      }
    }
  });

  // ---- what a page shows only to those who have script, and where its attention goes

  function prepare(root) {
    for (const button of root.querySelectorAll("[data-formset-add], [data-formset-repeat], [data-with-script]")) {
      button.hidden = false;
    }
    root.querySelector("[data-focus]")?.focus();
  }

  document.addEventListener("DOMContentLoaded", () => {
    prepare(document);
    // A page of long work is complete when the work is: its result is shown in its place.
    const next = document.querySelector("a[data-follow]");
    if (next) {
      window.location.replace(next.href);
    }
  });
  document.addEventListener("htmx:afterSwap", (event) => prepare(event.target));
})();
