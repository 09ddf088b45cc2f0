// Pages without a script or style of their own.

import { begin } from "../../shared/begin.ts";

begin();
