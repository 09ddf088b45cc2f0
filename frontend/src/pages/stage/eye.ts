// What the eye looks at: a press on a part, on its name in a text or in the list brings it there, and it glows.

import type { Part } from "../../cutaway/index.ts";
import type { Cutaway } from "../../instrument/cutaway.ts";
import { element } from "../../instrument/page.ts";
import { bring } from "../../instrument/parts.ts";

/** Returns what says in the list which part is spoken of. */
export function listenEye(cutaway: Cutaway): (part: Part | null) => void {
  const list = element<HTMLSelectElement>("part");
  const told = (part: Part | null): void => {
    list.value = part ?? "";
  };
  list.addEventListener("change", () => {
    if (list.value === "air") {
      cutaway.speakOf(null);
      cutaway.lookAt("air");
    } else {
      bring(cutaway, (list.value as Part) || null);
    }
  });
  for (const whole of document.querySelectorAll('[data-page="look-whole"]')) {
    whole.addEventListener("click", () => {
      cutaway.speakOf(null);
      told(null);
    });
  }
  // Beside all parts nothing is meant; the way back to the whole is the first line of the list.
  cutaway.onPress = (part) => {
    if (!part) return;
    bring(cutaway, part);
    told(part);
  };
  return told;
}
