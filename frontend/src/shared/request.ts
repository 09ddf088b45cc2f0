// A request with a time limit.

export const PATIENCE_MS = 8000;

/** A request that is given up after a while: a phone's network may lose it, or its answer, without an error. */
export async function ask(path: string, options: RequestInit = {}, patienceMs = PATIENCE_MS): Promise<Response> {
  const patience = new AbortController();
  const timer = window.setTimeout(() => patience.abort(), patienceMs);
  try {
    // A login page, ours or a network's, is not an answer.
    const response = await fetch(path, { credentials: "same-origin", redirect: "manual", signal: patience.signal, ...options });
    const text = await response.text();
    return new Response(text || null, { status: response.status || 503, headers: response.headers });
  } finally {
    clearTimeout(timer);
  }
}

/** The body of an answer if it is JSON; null for a page from a proxy or elsewhere. */
export async function plain<Body>(response: Response): Promise<Body | null> {
  try {
    const body: unknown = await response.json();
    return body && typeof body === "object" ? (body as Body) : null;
  } catch {
    return null;
  }
}

/** The code in an answer that this browser has no place here, or that nothing is here; '' for neither. */
export function outCode(body: { error?: { code?: string } } | null): string {
  const code = body?.error?.code ?? "";
  return ["no-place", "no-sitting"].includes(code) ? code : "";
}
