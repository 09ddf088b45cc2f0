// The script of every page of plain links and forms: theme and drafts.

import { keepForms } from "./drafts.ts";
import * as theme from "./theme.ts";

export function begin(): void {
  document.documentElement.dataset["script"] = "on";
  theme.listen(() => undefined);
  keepForms();
}
