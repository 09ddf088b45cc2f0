// The aircraft's pages work as plain links and forms; the script copies a chosen file into its field.

import "./style.css";
import { begin } from "../../shared/begin.ts";

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
begin();
