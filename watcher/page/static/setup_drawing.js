// Bringing a drawing: the one form that sends a file, what was typed standing beside it in the address.
import { ask } from "./asking.js";
import { fieldsOf, send } from "./setup.js";

const form = document.getElementById("drawing-form");

form?.addEventListener("submit", (event) => {
  event.preventDefault();
  const [file] = document.getElementById("drawing").files;
  const post = (path, typed) => ask(`${path}?${new URLSearchParams(typed)}`, file);
  send("setup/drawing.json", fieldsOf(form), form.querySelector(".told"), () => {}, post);
});

if (form) form.inert = false;
