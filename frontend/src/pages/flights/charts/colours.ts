// Colours and widths of the drawings, from the style sheet, so that dark and light are defined once.

export interface Colours {
  ink: string;
  soft: string;
  line: string;
  paper: string;
  turn: string;
  indicated: string;
  reference: string;
  compass: string;
  ghost: string;
  total: string;
  setting: string;
}

export function colours(): Colours {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string): string => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of("ink"),
    soft: of("soft"),
    line: of("line"),
    paper: of("paper"),
    turn: of("turn"),
    indicated: of("indicated"),
    reference: of("reference"),
    compass: of("compass"),
    ghost: of("ghost"),
    total: of("total"),
    setting: of("setting"),
  };
}
