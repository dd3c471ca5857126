"use strict";
(function () {
  const mine = document.body.dataset.version;
  async function look() {
    try {
      const answer = await fetch("/version", { cache: "no-store" });
      if (answer.ok && (await answer.text()) !== mine) window.location.reload();
    } catch {
      // The command has ended: the page stays as it is.
    }
  }
  window.setInterval(look, 700);
})();
