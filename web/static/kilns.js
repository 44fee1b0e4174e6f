// All kilns, kept present: asks for the page again and exchanges what it says of the kilns; says so when nobody answers.
"use strict";
(() => {
  const EVERY_MS = 10000;
  const kilns = document.getElementById("kilns");
  const silent = document.createElement("p");
  silent.className = "warning";
  silent.setAttribute("role", "alert");
  kilns.before(silent);
  const last = () => new Date().toLocaleTimeString([], { hour: "2-digit", minute: "2-digit" });
  let heard = last();

  async function look() {
    try {
      const answer = await fetch("./", { cache: "no-store" });
      if (!answer.ok) throw new Error(String(answer.status));
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      const found = page.getElementById("kilns");
      if (!found) throw new Error("another page");
      if (kilns.innerHTML !== found.innerHTML) kilns.innerHTML = found.innerHTML;
      heard = last();
      silent.textContent = "";
    } catch {
      silent.textContent = `The studio’s server does not answer. What stands here is from ${heard}. Look at the kilns.`;
    }
  }
  setInterval(look, EVERY_MS);
})();
