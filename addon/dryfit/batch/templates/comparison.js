"use strict";
for (const view of document.querySelectorAll(".view")) {
  const upper = view.querySelector(".upper"), slide = view.querySelector("input");
  const uncover = () => {
    upper.style.clipPath = "inset(0 0 0 " + slide.value + "%)";
    view.querySelector(".edge").style.left = slide.value + "%";
  };
  slide.addEventListener("input", uncover);
  uncover();
}
