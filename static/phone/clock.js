/**
 * The phone's own clock, sent with every act. An act is a form with a key; the field "clock"
 * is added as it is sent, by a tap, by htmx or by another module.
 */
document.addEventListener("formdata", (event) => {
  if (event.formData.has("key")) event.formData.set("clock", new Date().toISOString());
});
