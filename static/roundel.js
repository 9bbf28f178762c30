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

const form = document.querySelector("form[data-autosave]");
if (form) {
  const said = form.querySelector("[data-saved]");

  // A reason is asked for only where there is no result.
  const reasons = () => {
    for (const reason of form.querySelectorAll("select.reason")) {
      const state = document.getElementById(reason.id.replace(".reason", ".state"));
      const needed = state.value === "not_analysed" || state.value === "failed";
      reason.toggleAttribute("data-idle", !needed);
    }
  };
  reasons();

  // What is typed is kept on the server: on leaving a field, and 4 s after typing.
  let timer = 0;
  let kept = new URLSearchParams(new FormData(form)).toString();
  const keep = async () => {
    clearTimeout(timer);
    const body = new URLSearchParams(new FormData(form));
    if (body.toString() === kept) return;
    const now = body.toString();
    body.set("command", "quiet");
    try {
      const answer = await fetch(form.action, { method: "POST", body, redirect: "error" });
      if (answer.ok) {
        kept = now;
        said.textContent = await answer.text();
      } else if (answer.status === 401) {
        said.textContent = said.dataset.ended;
      }
    } catch {
      // Without a connection the form itself still holds everything.
    }
  };
  form.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(keep, 4000); });
  form.addEventListener("change", () => { reasons(); keep(); });

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
