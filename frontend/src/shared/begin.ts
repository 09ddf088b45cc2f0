// What every page of plain links and forms does by script: its theme, and what is typed and not sent.

import { keepForms } from "./drafts.ts";
import * as theme from "./theme.ts";

export function begin(): void {
  document.documentElement.dataset["script"] = "on";
  theme.listen(() => undefined);
  keepForms();
}
