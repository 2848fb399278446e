export type ThemeName = "light" | "dark" | "red";

const paint = document.createElement("canvas").getContext("2d"); // knows every way to write a colour

const key = "legroom theme";
const names: readonly string[] = ["light", "dark", "red"];

// Theme is the owner's choice, and until there is one what the system asks for.
class Theme {
  #system = $state<ThemeName>("light");
  #chosen = $state<ThemeName | null>(null);

  constructor() {
    const dark = matchMedia("(prefers-color-scheme: dark)");
    this.#system = dark.matches ? "dark" : "light";
    dark.addEventListener("change", () => (this.#system = dark.matches ? "dark" : "light"));
    const kept = localStorage.getItem(key);
    if (kept !== null && names.includes(kept)) this.#chosen = kept as ThemeName;
    this.#show();
  }

  get name(): ThemeName {
    return this.#chosen ?? this.#system;
  }

  set name(t: ThemeName) {
    this.#chosen = t;
    localStorage.setItem(key, t);
    this.#show();
  }

  #show() {
    if (this.#chosen) document.documentElement.dataset.theme = this.#chosen;
  }

  // follow puts the name into the document; call it from an effect, so that a change of the system's wish counts too.
  follow() {
    document.documentElement.dataset.theme = this.name;
  }

  // role resolves a property of the visual system. It depends on the theme.
  role(name: string): string {
    void this.name;
    return getComputedStyle(document.documentElement).getPropertyValue("--" + name).trim();
  }

  // color resolves a colour's role to #rrggbb, for what CSS does not paint.
  color(name: string): string {
    if (!paint) return "#000000";
    paint.fillStyle = this.role(name);
    return paint.fillStyle;
  }
}

export const theme = new Theme();
