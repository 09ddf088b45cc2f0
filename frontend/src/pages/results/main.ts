import "./style.css";
import { begin } from "../../shared/plain.ts";

begin();
