// Dark and light: the system's choice until the button is used; then stored in a cookie for the server.

const button = document.getElementById("theme") as HTMLButtonElement;
const dark = matchMedia("(prefers-color-scheme: dark)");

function isDark(): boolean {
  const chosen = document.documentElement.dataset["theme"];
  return chosen ? chosen === "dark" : dark.matches;
}

export function listen(changed: () => void): void {
  const name = (): void => {
    button.textContent = isDark() ? "Light" : "Dark";
    button.setAttribute("aria-label", isDark() ? "Light page" : "Dark page");
  };
  button.addEventListener("click", () => {
    const theme = isDark() ? "light" : "dark";
    document.documentElement.dataset["theme"] = theme;
    document.cookie = `theme=${theme}; path=/; max-age=31536000; samesite=strict`;
    name();
    changed();
  });
  dark.addEventListener("change", () => {
    name();
    changed();
  });
  name();
}
