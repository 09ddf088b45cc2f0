// The red line at the foot of the instructor's pages while the server or the records cannot be reached.


export interface Contact {
  /** The code of why the records cannot be reached; '' when they can. */
  away: string;
  words: string;
  /** Names of the students whose phones do not respond. */
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
// Changing numbers are not read out each time.
const more = element("p", line);
// On the projector the line covers the foot, so it repeats the foot's caution.
const caution = document.querySelector(".projfoot .meta");
if (caution) element("footer", line).textContent = caution.textContent;

/** Shows a message, or removes the line with ''. */
export function tell(words: string, numbers = ""): void {
  line.hidden = words === "";
  document.body.dataset["outage"] = String(words !== "");
  if (head.textContent !== words) head.textContent = words;
  if (more.textContent !== numbers) more.textContent = numbers;
}

/** How many phones do not respond and how many answers they have not sent yet, as far as known. */
export function numbersOf(silent: number, waiting: number): string {
  const said = [];
  if (silent) said.push(silent === 1 ? "1 phone not responding" : `${silent} phones not responding`);
  if (waiting) said.push(waiting === 1 ? "1 answer not sent yet" : `${waiting} answers not sent yet`);
  return said.join("; ");
}
