// Making elements. Texts only ever become text nodes and attributes.

// make returns an element with properties and children; a property in data
// becomes a data attribute, one with a hyphen an attribute.
export function make(tag, properties = {}, ...children) {
  const out = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (name === "data") Object.assign(out.dataset, value);
    else if (name.includes("-") || name === "for" || name === "role") out.setAttribute(name, value);
    else out[name] = value;
  }
  out.append(...children.filter((c) => c !== null));
  return out;
}

export const find = (selector, inside = document) => inside.querySelector(selector);
export const all = (selector, inside = document) => [...inside.querySelectorAll(selector)];

// button returns a button with an action.
export function button(text, action, properties = {}) {
  const out = make("button", { type: "button", textContent: text, ...properties });
  out.addEventListener("click", action);
  return out;
}

// labelled returns a label around a field.
export function labelled(text, field) {
  return make("label", {}, text, field);
}

// selection returns a drop-down list of values with their texts.
export function selection(choices, value, properties = {}) {
  const out = make("select", properties);
  for (const [v, text] of choices) out.append(make("option", { value: v, textContent: text }));
  out.value = value;
  return out;
}

// section returns a part that folds.
export function section(name, ...children) {
  return make("details", {}, make("summary", { textContent: name }), ...children);
}

// setText changes a text only if it differs, to avoid another layout and another
// reading aloud.
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}
