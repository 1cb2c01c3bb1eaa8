// The day sheet: made to be printed; on the screen it is a page like the others.
import { byId } from "./boot.js";
import { startShell } from "./shell.js";

byId("print").addEventListener("click", () => window.print());
startShell();
