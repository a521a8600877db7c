/* In the head, before anything is drawn: the reader's choice of light or dark, if there was one. */
(function () {
    "use strict";
    let chosen = null;
    try {
        chosen = localStorage.getItem("flinch-colours");
    } catch (refused) { /* no storage for local files: the system's choice holds */ }
    if (chosen === "light" || chosen === "dark")
        document.documentElement.dataset.colours = chosen;
})();
