const ABREAST = 4; // so many picked ones stand side by side

function standAbreast(picked) {
  by("abreast").style.setProperty("--picked", picked.length);
  by("abreast").replaceChildren(...picked.map(portrait));
  const heads = picked.map((row) => {
    const cell = document.createElement("th");
    cell.scope = "col";
    cell.textContent = nameOf(row);
    return cell;
  });
  by("parted").replaceChildren(by("parted").firstElementChild, ...heads);
  const lines = partings(picked);
  const none = document.createElement("tr");
  none.insertCell().textContent = "No question parts them.";
  by("parting").replaceChildren(...(lines.length ? lines : [none]));
}

function portrait(row) {
  const figure = document.createElement("figure"), stack = document.createElement("div"), words = document.createElement("figcaption");
  const address = row.getAttribute("data-see-" + by("view").value);
  stack.className = "stack";
  if (address) stack.append(Object.assign(new Image(), { src: address, alt: nameOf(row) + ", " + by("view").selectedOptions[0].textContent.toLowerCase() }));
  else stack.textContent = "No picture in this view.";
  const name = document.createElement("b");
  name.textContent = nameOf(row);
  words.append(name, ...copied(row.querySelector(".c-verdict")), ...copied(row.querySelector(".c-why")), ...copied(row.querySelector(".c-change")));
  figure.append(stack, words);
  return figure;
}

const copied = (cell) => (cell ? [...cell.childNodes].map((node) => node.cloneNode(true)) : []);

function partings(picked) {
  const headings = [...document.querySelectorAll("#board thead th")].map((cell) => cell.textContent.trim());
  const checks = [...picked[0].cells].map((cell, at) => [cell, at]).filter(([cell]) => cell.matches(".c-verdict, .c-check")).map(([, at]) => at);
  return checks.filter((at) => new Set(picked.map((row) => row.cells[at].textContent)).size > 1).map((at) => {
    const line = document.createElement("tr"), question = document.createElement("th");
    question.scope = "row";
    question.textContent = headings[at];
    line.append(question, ...picked.map((row) => {
      const cell = document.createElement("td");
      cell.append(...copied(row.cells[at]));
      return cell;
    }));
    return line;
  });
}
