import "./style.css";
import { begin } from "../../shared/begin.ts";

begin();
