// Elements from plain words: no markup is ever read from text.

export const byId = (id) => document.getElementById(id);

export function el(tag, facts = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(facts)) {
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
  }
  made.append(...children.filter((child) => child !== null && child !== undefined && child !== false));
  return made;
}

export const put = (place, ...children) => place.replaceChildren(...children.filter(Boolean));
export const button = (words, act, facts = {}) => el("button", { type: "button", onclick: act, ...facts }, words);
export const plural = (count, noun) => `${count} ${noun}${count === 1 ? "" : "s"}`;
