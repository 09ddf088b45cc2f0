import "./style.css";
import { begin } from "../../shared/in_place.ts";

begin();
