/** One way to make elements: attributes by name, listeners by `on…`, text and elements as children. No HTML strings. */
type Child = Node | string | null | false | undefined;
type Attributes = Record<string, string | number | boolean | null | undefined | ((event: never) => void)>;

export function el<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes: Attributes = {},
  ...children: readonly Child[]
): HTMLElementTagNameMap[Tag] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (typeof value === "function") made.addEventListener(name.slice(2), value as EventListener);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, String(value));
  }
  fill(made, ...children);
  return made;
}

/** Replace what is inside an element. */
export function fill(element: Element, ...children: readonly Child[]): void {
  element.replaceChildren(...children.filter((c): c is Node | string => c !== null && c !== undefined && c !== false));
}

/** A button with words on it. */
export function button(words: string, act: () => void, attributes: Attributes = {}): HTMLButtonElement {
  return el("button", { type: "button", onclick: act, ...attributes }, words);
}

/** A field with its words. @param more  What stands below it. */
export function labelled(words: string, field: HTMLElement, ...more: readonly Child[]): HTMLElement {
  return el("div", { class: "fields" }, el("label", { for: field.id }, words), field, ...more);
}

/** What is out of the way until it is unfolded. */
export function folded(title: string, attributes: Attributes, ...content: readonly Child[]): HTMLDetailsElement {
  return el("details", attributes, el("summary", {}, el("h2", {}, title)), ...content);
}

/** The same, where no heading belongs. */
export const plainFolded = (title: string, ...content: readonly Child[]): HTMLDetailsElement =>
  el("details", {}, el("summary", {}, title), ...content);

/** Another screen, as a row with what it is for. */
export function rowButton(title: string, what: string | null, open: () => void, id: string): HTMLElement {
  const words = el("span", {}, el("b", {}, title), what !== null && el("small", {}, what));
  return el("li", {}, el("button", { type: "button", class: "quiet row", id, onclick: open }, words));
}

/** A file field that looks like a button; the field itself stays reachable by keyboard and screen reader. */
export function fileButton(
  words: string,
  {
    id,
    quiet,
    ...more
  }: { readonly id: string; readonly accept: string; readonly capture?: string; readonly quiet?: boolean },
  take: (file: File) => void,
): HTMLElement {
  const input = el("input", {
    type: "file",
    id,
    class: "file-field",
    onchange: () => {
      const [file] = input.files ?? [];
      input.value = ""; // the same file may be chosen again after a failure
      if (file) take(file);
    },
    ...more,
  });
  const label = el("label", { for: id, class: quiet ? "button quiet" : "button" }, words);
  return el("div", { class: "file-button" }, input, label);
}

const SVG = "http://www.w3.org/2000/svg";
export function svgEl<Tag extends keyof SVGElementTagNameMap>(
  tag: Tag,
  attributes: Record<string, string | number> = {},
  ...children: readonly (Node | string)[]
): SVGElementTagNameMap[Tag] {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, String(value));
  made.append(...children);
  return made;
}
