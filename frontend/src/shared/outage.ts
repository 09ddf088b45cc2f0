// The red line at the foot of the instructor's pages while the server or the records are away.


export interface Contact {
  /** Why the records cannot be had, as a code; '' when they can. */
  away: string;
  words: string;
  /** Names of the students whose phones are not heard. */
  silent: string[];
  waiting: number;
}

export const FINE: Contact = { away: "", words: "", silent: [], waiting: 0 };

function element(name: string, parent: HTMLElement): HTMLElement {
  const made = document.createElement(name);
  parent.append(made);
  return made;
}

const line = element("div", document.body);
line.id = "away";
line.className = "outage";
line.hidden = true;
const head = element("p", line);
head.setAttribute("role", "alert");
// Numbers that change are not read out each time.
const more = element("p", line);
// On the projector the line takes the place of the foot, and says what the foot says.
const caution = document.querySelector(".projfoot .meta");
if (caution) element("footer", line).textContent = caution.textContent;

/** Shows what is the matter, or with '' takes the line away. */
export function tell(words: string, numbers = ""): void {
  line.hidden = words === "";
  document.body.dataset["outage"] = String(words !== "");
  if (head.textContent !== words) head.textContent = words;
  if (more.textContent !== numbers) more.textContent = numbers;
}

/** How many phones are silent and how many answers wait on them, as far as is known. */
export function numbersOf(silent: number, waiting: number): string {
  const said = [];
  if (silent) said.push(silent === 1 ? "1 phone silent" : `${silent} phones silent`);
  if (waiting) said.push(waiting === 1 ? "1 answer waits on a phone" : `${waiting} answers wait on phones`);
  return said.join("; ");
}
