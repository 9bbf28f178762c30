// Small comforts. Every page works without them.
"use strict";

document.documentElement.classList.add("js");

// A deadline also in the reader's own time zone.
for (const time of document.querySelectorAll("time.deadline")) {
  const at = new Date(time.dateTime);
  if (!Number.isNaN(at.getTime())) {
    const here = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const local = at.toLocaleString(document.documentElement.lang, { dateStyle: "medium", timeStyle: "short" });
    const said = document.createElement("span");
    said.className = "local";
    said.textContent = ` · ${local} ${here}`;
    if (here && here !== "UTC") time.append(said);
  }
}

// What is wrong comes into view first.
const problems = document.getElementById("problems");
if (problems) problems.focus();

// One click, one sending; the server sees to it as well.
for (const form of document.querySelectorAll("form[data-once]")) {
  form.addEventListener("submit", () => {
    setTimeout(() => form.querySelectorAll("button").forEach((button) => { button.disabled = true; }), 0);
  });
}
addEventListener("pageshow", () => {
  document.querySelectorAll("form[data-once] button").forEach((button) => { button.disabled = false; });
});

// A link that is shown once is selected by a click.
for (const code of document.querySelectorAll("[data-copy]")) {
  code.addEventListener("click", () => getSelection().selectAllChildren(code));
}

// Left and right go to the neighbouring page; never from a field or a table that scrolls.
const steps = document.querySelector("nav[data-arrows]");
if (steps) {
  // One page for one press: a key that stays down goes no further.
  let pressed = "";
  document.addEventListener("keydown", (event) => {
    const free = !(event.defaultPrevented || event.ctrlKey || event.altKey || event.metaKey || event.shiftKey);
    const outside = !event.target.closest("input, select, textarea, button, summary, [contenteditable], .scroll");
    pressed = free && outside && !event.repeat ? event.key : "";
  });
  document.addEventListener("keyup", (event) => {
    const rel = event.key === pressed ? { ArrowLeft: "prev", ArrowRight: "next" }[event.key] : undefined;
    const link = rel && steps.querySelector(`a[rel="${rel}"]`);
    pressed = "";
    if (link) link.click();
  });
}

const form = document.querySelector("form[data-autosave]");
if (form) {
  const said = form.querySelector("[data-saved]");
  const base = form.elements.namedItem("base");

  // A reason is asked for only where there is no result.
  const reasons = () => {
    for (const reason of form.querySelectorAll("div.reason")) {
      const select = reason.querySelector("select");
      const state = document.getElementById(select.id.replace(".reason", ".state"));
      const needed = state.value === "not_analysed" || state.value === "failed";
      reason.toggleAttribute("data-idle", !needed && select.value === "");
    }
  };
  reasons();

  // What is typed is kept on the server: on leaving a field, and 4 s after typing.
  const typed = () => {
    const fields = new URLSearchParams(new FormData(form));
    fields.delete("base");
    return fields;
  };
  const posted = () => {
    const body = typed();
    body.set("base", base.value);
    body.set("command", "quiet");
    return body;
  };
  let timer = 0;
  let busy = false;
  let kept = typed().toString();

  // What others typed since comes into the fields that were not touched here.
  // False when one was touched meanwhile: then the server asks which text is right.
  const bring = (changed, sent) => {
    let all = true;
    for (const [name, text] of Object.entries(changed)) {
      const field = form.elements.namedItem(name);
      if (!field || field.type === "checkbox") continue;
      if (field.value === sent.get(name)) field.value = text; else all = false;
    }
    return all;
  };
  const tell = (words) => {
    for (const [name, word] of Object.entries(words)) {
      const place = document.getElementById(`${name}-said`);
      const field = form.elements.namedItem(name);
      if (!place || !field || field === document.activeElement) continue;
      place.textContent = word.error || word.echo;
      place.className = word.error ? "said error" : "said echo";
      if (word.error) field.setAttribute("aria-invalid", "true"); else field.removeAttribute("aria-invalid");
    }
  };
  const keep = async () => {
    clearTimeout(timer);
    const sent = typed();
    if (sent.toString() === kept || busy) return;
    busy = true;
    try {
      const answer = await fetch(form.action, { method: "POST", body: posted(), redirect: "error" });
      if (answer.ok) {
        const news = await answer.json();
        // While two texts of a field wait for a choice, the page has not seen the other.
        if (bring(news.changed, sent) && !news.both) base.value = news.version;
        for (const [name, text] of Object.entries(news.changed)) if (sent.has(name)) sent.set(name, text);
        kept = sent.toString();
        tell(news.said);
        said.textContent = news.both ? said.dataset.both : news.saved;
        // What was typed meanwhile is saved next.
        if (typed().toString() !== kept) timer = setTimeout(keep, 1000);
      } else {
        said.textContent = answer.status === 401 ? said.dataset.ended : said.dataset.refused;
      }
    } catch {
      // Without a connection the form itself still holds everything.
      said.textContent = said.dataset.offline;
      timer = setTimeout(keep, 3000);
    } finally {
      busy = false;
    }
  };
  form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(keep, 4000); });
  form.addEventListener("change", () => { reasons(); keep(); });
  addEventListener("online", keep);
  // Who leaves the page in the middle of a field loses nothing.
  addEventListener("pagehide", () => {
    if (typed().toString() !== kept) navigator.sendBeacon(form.action, posted());
  });
  form.addEventListener("submit", () => { kept = typed().toString(); clearTimeout(timer); });

  // Up and down go to the same column of the next row.
  form.addEventListener("keydown", (event) => {
    if (event.target.tagName !== "INPUT" || event.target.type !== "text") return;
    if (event.key !== "ArrowUp" && event.key !== "ArrowDown") return;
    const part = event.target.name.slice(event.target.name.indexOf("."));
    const column = [...form.querySelectorAll("tbody input[type=text]")].filter((input) => input.name.endsWith(part));
    const next = column[column.indexOf(event.target) + (event.key === "ArrowDown" ? 1 : -1)];
    if (next) { event.preventDefault(); next.focus(); next.select(); }
  });
}
