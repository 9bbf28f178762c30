// A block out of a spreadsheet that is pasted into a field of the form goes to
// the page that shows what it would change.
"use strict";

{
  const entry = document.querySelector("form[data-autosave]");
  const link = document.querySelector("a[data-paste]");

  const send = (fields) => {
    const form = document.createElement("form");
    form.method = "post";
    form.action = link.href;
    for (const [name, value] of Object.entries(fields)) {
      const input = document.createElement("input");
      input.type = "hidden";
      input.name = name;
      input.value = value;
      form.append(input);
    }
    document.body.append(form);
    form.submit();
  };

  // What is typed is kept first, because the page is left.
  const keep = async () => {
    const body = new URLSearchParams(new FormData(entry));
    body.set("command", "quiet");
    const answer = await fetch(entry.action, { method: "POST", body, redirect: "error" });
    if (!answer.ok) throw new Error(`saving was answered with ${answer.status}`);
  };

  if (entry && link) {
    entry.addEventListener("paste", async (event) => {
      const field = event.target;
      if (field.tagName !== "INPUT" || field.type !== "text" || !event.clipboardData) return;
      const block = event.clipboardData.getData("text/plain");
      // A single cell is pasted as any text; spreadsheets end it with a line end.
      if (!/[\t\r\n]/.test(block.replace(/[\r\n]+$/, ""))) return;
      event.preventDefault();
      try {
        await keep();
      } catch {
        const said = entry.querySelector("[data-saved]");
        if (said) said.textContent = link.dataset.failed;
        return;
      }
      send({ form_token: entry.elements.form_token.value, start: field.name, block });
    });
  }
}
