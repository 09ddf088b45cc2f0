// A request that ends: with what was said, or without a word after a while.

export const PATIENCE_MS = 8000;

/** A request that is given up after a while: a phone's network may swallow one, or its answer, without a word. */
export async function ask(path: string, options: RequestInit = {}, patienceMs = PATIENCE_MS): Promise<Response> {
  const patience = new AbortController();
  const timer = window.setTimeout(() => patience.abort(), patienceMs);
  try {
    // A page to log in at, or another network's door, is no answer.
    const response = await fetch(path, { credentials: "same-origin", redirect: "manual", signal: patience.signal, ...options });
    const text = await response.text();
    return new Response(text || null, { status: response.status || 503, headers: response.headers });
  } finally {
    clearTimeout(timer);
  }
}

/** The body of an answer where it is JSON; null for what a proxy or another page said. */
export async function plain<Body>(response: Response): Promise<Body | null> {
  try {
    const body: unknown = await response.json();
    return body && typeof body === "object" ? (body as Body) : null;
  } catch {
    return null;
  }
}

/** The code by which an answer says that this browser has no place here, or that there is nothing here; '' for neither. */
export function outCode(body: { error?: { code?: string } } | null): string {
  const code = body?.error?.code ?? "";
  return ["no-place", "no-sitting"].includes(code) ? code : "";
}
