import { begin } from "../../shared/plain.ts";

begin();
