// Colours of the bench's drawings: the page's, or those for paper.

export interface Look {
  ink: string;
  soft: string;
  line: string;
  edge: string;
  paper: string;
  raised: string;
  indicated: string;
  compass: string;
  ghost: string;
  setting: string;
  good: string;
  bad: string;
}

export const PAPER: Look = {
  ink: "#111418",
  soft: "#474e55",
  line: "#cfcfcb",
  edge: "#6b7076",
  paper: "#ffffff",
  raised: "#ffffff",
  indicated: "#0a57a3",
  compass: "#8a5a1c",
  ghost: "#7a4fa3",
  setting: "#96460b",
  good: "#3f7f4f",
  bad: "#a8281a",
};

export function pageLook(): Look {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of("ink"),
    soft: of("soft"),
    line: of("line"),
    edge: of("edge"),
    paper: of("paper"),
    raised: of("raised"),
    indicated: of("indicated"),
    compass: of("compass"),
    ghost: of("bench-ghost"),
    setting: of("setting"),
    good: of("bench-good"),
    bad: of("bad-edge"),
  };
}
