// On a phone, what is seldom read begins folded; without this script, and on a desk, it is open.
"use strict";
(() => {
  if (!matchMedia("(max-width: 700px)").matches) return;
  const asked = location.hash.length > 1 ? document.getElementById(location.hash.slice(1)) : null;
  for (const part of document.querySelectorAll("details[data-fold]")) {
    if (!part.contains(asked)) part.open = false;
  }
})();
