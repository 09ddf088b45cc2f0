// The log's form: its keys and its queue.

import "./style.css";
import * as theme from "../../shared/theme.ts";
import { begin } from "./form.ts";

document.documentElement.dataset["script"] = "on";
theme.listen(() => undefined);
begin();
