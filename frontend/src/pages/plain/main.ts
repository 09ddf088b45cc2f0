// Pages that have neither script nor style of their own.

import { begin } from "../../shared/begin.ts";

begin();
