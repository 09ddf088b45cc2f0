// A file chosen or dropped anywhere on the page.

export function listen(taken: (file: File) => void): void {
  const input = document.getElementById("file") as HTMLInputElement;
  input.addEventListener("change", () => {
    const file = input.files?.[0];
    if (file) taken(file);
    input.value = "";
  });
  const carries = (event: DragEvent): boolean => event.dataTransfer?.types.includes("Files") ?? false;
  document.addEventListener("dragover", (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    document.body.classList.add("dropping");
  });
  document.addEventListener("dragleave", (event) => {
    if (!event.relatedTarget) document.body.classList.remove("dropping");
  });
  document.addEventListener("drop", (event) => {
    document.body.classList.remove("dropping");
    const file = event.dataTransfer?.files[0];
    if (!file) return;
    event.preventDefault();
    taken(file);
  });
}
