// The aircraft's pages work as plain links and forms; here the log's form gets its keys and its queue.

import "./aircraft.css";
import "./phone.css";
import { keepForms } from "../drafts.ts";
import * as theme from "../theme.ts";
import { begin } from "./phone.ts";

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
if (document.getElementById("log")) begin();
for (const field of document.querySelectorAll<HTMLInputElement>("input[type=file][data-into]")) {
  field.addEventListener("change", () => {
    const into = document.getElementById(field.dataset["into"] ?? "") as HTMLTextAreaElement | null;
    void field.files?.[0]?.text().then((text) => {
      if (!into) return;
      into.value = text;
      into.dispatchEvent(new Event("input", { bubbles: true }));
    });
  });
}
keepForms();
