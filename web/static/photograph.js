// Says at once that a picture is too large, before minutes of sending it.
"use strict";
for (const field of document.querySelectorAll("input[type=file][data-most]")) {
  const look = () => {
    const most = Number(field.dataset.most);
    const size = field.files.length ? field.files[0].size : 0;
    const words = size > most
      ? `This picture has ${(size / 2 ** 20).toFixed(1)} MB; at most ${Math.round(most / 2 ** 20)} MB are taken. Choose a smaller one.`
      : "";
    field.setCustomValidity(words);
    if (words) field.reportValidity();
  };
  field.addEventListener("change", look);
  look();
}
