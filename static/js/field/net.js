/* Asking the office. Every answer is one of: ok, offline, sign-in, refused, broken. */

const PATIENCE = 20000;
const cookie = (name) =>
  document.cookie
    .split("; ")
    .find((part) => part.startsWith(`${name}=`))
    ?.slice(name.length + 1) ?? "";

const data = async (response) => {
  try {
    return await response.json();
  } catch {
    return {};
  }
};

const sorted = async (response) => {
  if (response.status === 401) return { kind: "sign-in", data: await data(response) };
  if (response.redirected || !(response.headers.get("Content-Type") ?? "").includes("application/json"))
    return { kind: "broken", status: response.status, data: {} };
  if (response.ok) return { kind: "ok", data: await data(response) };
  const refused = response.status === 400 || response.status === 404 || response.status === 409;
  return { kind: refused ? "refused" : "broken", status: response.status, data: await data(response) };
};

const once = async (address, options) => {
  const patience = new AbortController();
  const timer = setTimeout(() => patience.abort(), options.patience ?? PATIENCE);
  try {
    return await sorted(await fetch(address, { ...options, signal: patience.signal, credentials: "same-origin", cache: "no-store" }));
  } catch {
    return { kind: "offline", data: {} };
  } finally {
    clearTimeout(timer);
  }
};

export const ask = (address) => once(address, { headers: { Accept: "application/json" } });

/* A sign-in gives a new anti-forgery cookie; when the old one is turned away, fetch the new one and try once more. */
export const send = async (address, body, renewAt, patience) => {
  const tried = () => {
    const headers = { Accept: "application/json", "X-CSRFToken": cookie("csrftoken") };
    if (typeof body === "string") headers["Content-Type"] = "application/json";
    return once(address, { method: "POST", headers, body, patience });
  };
  const answer = await tried();
  if (answer.kind !== "broken" || answer.status !== 403) return answer;
  const renewed = await ask(renewAt);
  return renewed.kind === "ok" ? tried() : renewed;
};
