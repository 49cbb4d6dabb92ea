// Folds away a fieldset that is for one choice only: <fieldset data-fold-by="kind" data-fold-open="coat">.
// A folded fieldset is disabled, so that its fields are not sent. Without script all fields show and the server decides.
"use strict";

(() => {
  function fold(set) {
    const chooser = set.form.elements[set.dataset.foldBy];
    const open = chooser.value === set.dataset.foldOpen;
    set.hidden = !open;
    set.disabled = !open;
  }

  document.addEventListener("DOMContentLoaded", () => {
    for (const set of document.querySelectorAll("fieldset[data-fold-by]")) {
      // A field that was refused must be seen, whatever the choice.
      if (set.querySelector(".errorlist")) {
        continue;
      }
      const chooser = set.form.elements[set.dataset.foldBy];
      chooser.addEventListener("change", () => fold(set));
      fold(set);
    }
  });
})();
