const viewer = document.querySelector("dialog");
document.addEventListener("click", (event) => {
  const shot = event.target.closest(".shot");
  if (shot) {
    const picture = shot.querySelector("img");
    viewer.querySelector("img").src = picture.src;
    viewer.querySelector("img").alt = picture.alt;
    viewer.querySelector("p").textContent = picture.alt;
    viewer.showModal();
  } else if (event.target.closest("dialog")) {
    viewer.close();
  }
});
