// Requests to the server: fly, upload a file. Throws a refusal with its three parts.

import type { Asked, Refusal, Reply } from "./reply.ts";

export class Refused extends Error {
  constructor(readonly refusal: Refusal["error"]) {
    super(`${refusal.where}: ${refusal.wrong}. ${refusal.right}.`);
  }
}

const GONE = {
  where: "program",
  wrong: "not responding",
  right: "start it again, then reload this page",
};

async function post<T>(address: string, body: BodyInit, type: string, signal?: AbortSignal): Promise<T> {
  let response: Response;
  try {
    response = await fetch(address, {
      method: "POST",
      body,
      headers: { "content-type": type },
      ...(signal ? { signal } : {}),
    });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Refused(GONE);
  }
  const answer = (await response.json()) as T | Refusal;
  if (!response.ok) throw new Refused((answer as Refusal).error);
  return answer as T;
}

export function fly(asked: Asked, signal: AbortSignal): Promise<Reply> {
  return post<Reply>("/api/fly", JSON.stringify(asked), "application/json", signal);
}

const LARGEST_BYTES = 100e6;

export function give(file: File): Promise<{ flight: string; name: string }> {
  if (file.size > LARGEST_BYTES) {
    const wrong = "larger than 100 MB";
    return Promise.reject(new Refused({ where: file.name, wrong, right: "a recorded flight is smaller than that" }));
  }
  return post(`/api/flights?name=${encodeURIComponent(file.name)}`, file, "application/octet-stream");
}
