/* Small helpers for building the page: no markup from strings, so nothing typed by anybody is ever read as markup. */

export const byId = (id) => document.getElementById(id);

export const el = (tag, properties = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "class") node.className = value;
    else if (name in node && name !== "list") node[name] = value;
    else node.setAttribute(name, value);
  }
  node.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return node;
};

export const fill = (node, ...children) => node.replaceChildren(...children.filter(Boolean));

/* "Station {number} became {now}" with its gaps filled. */
export const told = (sentence, facts = {}) =>
  sentence.replace(/\{(\w+)\}/g, (gap, name) => (name in facts ? String(facts[name]) : gap));

export const words = JSON.parse(byId("field-words")?.textContent ?? "{}");

/* The sentence for one or for several. */
export const counted = (name, n) => told(n === 1 ? words[`${name}_one`] : words[`${name}_many`], { n });

export const setText = (id, text) => {
  const node = byId(id);
  if (node.textContent !== text) node.textContent = text;
};
