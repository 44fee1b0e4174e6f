// A firing's record: comes back once the watch has taken what was asked; makes the picture a PNG; prints the card.
"use strict";
(() => {
  async function taken() {
    try {
      const answer = await fetch(location.pathname + location.search, { signal: AbortSignal.timeout(8000) });
      const page = new DOMParser().parseFromString(await answer.text(), "text/html");
      if (answer.ok && !page.querySelector("[data-waiting]")) {
        location.reload();
        return;
      }
    } catch {
      // Asked again below.
    }
    setTimeout(taken, 1500);
  }
  if (document.querySelector("[data-waiting]")) setTimeout(taken, 1200);

  // The server's own drawing, laid on a canvas by the browser.
  async function png(address, name) {
    const answer = await fetch(address);
    const drawn = URL.createObjectURL(await answer.blob());
    const image = new Image();
    image.src = drawn;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = image.naturalWidth * 2;
    canvas.height = image.naturalHeight * 2;
    canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
    URL.revokeObjectURL(drawn);
    const blob = await new Promise((done) => canvas.toBlob(done, "image/png"));
    const link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  }
  const place = document.querySelector("[data-png]");
  if (place) {
    const button = document.createElement("button");
    button.type = "button";
    button.className = "plain";
    button.textContent = "Picture, PNG";
    button.addEventListener("click", () => png(place.dataset.png, "firing.png"));
    place.append(button);
    place.hidden = false;
  }

  // A picture dropped anywhere on the page is a picture chosen; it is kept only by its button.
  const chosen = document.getElementById("photograph");
  if (chosen) {
    addEventListener("dragover", (event) => event.preventDefault());
    addEventListener("drop", (event) => {
      event.preventDefault();
      if (!event.dataTransfer.files.length) return;
      chosen.closest("details").open = true;
      chosen.files = event.dataTransfer.files;
      chosen.scrollIntoView({ block: "center" });
      chosen.focus();
    });
  }

  const print = document.querySelector("[data-print]");
  if (print) {
    print.hidden = false;
    print.addEventListener("click", () => window.print());
  }
})();
