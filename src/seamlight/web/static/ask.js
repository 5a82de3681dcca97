// Asking the server from a page's own script: with the page's token, and with plain words when it fails.

export class Lost extends Error {}
export class Refused extends Error {
  constructor(status, body) {
    super([body.what, body.do].filter(Boolean).join("; ") || `The server answered ${status}.`);
    this.status = status;
    this.body = body;
  }
}

export const csrf = () => document.querySelector('meta[name="csrf"]').content;

// send("/api/...", {method: "POST", json: {...}} or {form: FormData, headers, signal}) -> Response
export async function send(address, { method = "GET", json, form, headers = {}, signal, keepalive = false } = {}) {
  const body = json === undefined ? form : JSON.stringify(json);
  const kind = json === undefined ? {} : { "content-type": "application/json" };
  try {
    return await fetch(address, {
      method, body, signal, keepalive, credentials: "same-origin",
      headers: { ...kind, "x-csrf": csrf(), ...headers },
    });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Lost("No connection to the shop. Nothing is lost on this device.");
  }
}

// The same, answered by JSON; throws Refused with the server's own words.
export async function ask(address, options = {}) {
  const answer = await send(address, options);
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, body);
  return body;
}
