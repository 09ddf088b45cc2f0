// Numbers as a pilot reads them.

const MINUS = "\u2212";

export type Maybe = number | null | undefined;

export function signed(value: Maybe, decimals = 1): string {
  if (value === null || value === undefined) return "–";
  const text = Math.abs(value).toFixed(decimals);
  if (Number(text) === 0) return text;
  return (value < 0 ? MINUS : "+") + text;
}

/** As `signed`, with fewer decimals for large values. */
export function signedShort(value: Maybe): string {
  return signed(value, Math.abs(value ?? 0) >= 100 ? 0 : 1);
}

export function plain(value: Maybe, decimals = 0): string {
  if (value === null || value === undefined) return "–";
  return value.toFixed(decimals).replace("-", MINUS);
}

/** Three figures, 000 to 359. */
export function heading(value: Maybe): string {
  if (value === null || value === undefined) return "–";
  return String((((Math.round(value) % 360) + 360) % 360)).padStart(3, "0");
}

/** Hours, minutes and seconds since the start. */
export function clock(timeS: number): string {
  const whole = Math.round(timeS);
  const pad = (part: number): string => String(part).padStart(2, "0");
  return `${Math.floor(whole / 3600)}:${pad(Math.floor(whole / 60) % 60)}:${pad(whole % 60)}`;
}

export function latitude(value: Maybe, decimals = 2): string {
  return value === null || value === undefined ? "–" : `${Math.abs(value).toFixed(decimals)}° ${value < 0 ? "S" : "N"}`;
}

export function longitude(value: Maybe, decimals = 2): string {
  return value === null || value === undefined ? "–" : `${Math.abs(value).toFixed(decimals)}° ${value < 0 ? "W" : "E"}`;
}
