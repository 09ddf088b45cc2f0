// The elements of the page by id, typed; a missing one is an error in the template.

export function element<T extends Element = HTMLElement>(id: string): T {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no element '${id}'`);
  return found as unknown as T;
}
