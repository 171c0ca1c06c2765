// once: a form is sent once, however often its button is pressed. data-busy on the form holds
// the words for the button meanwhile. The button is not disabled: its name and value travel
// with the form. After 20 s without an answer, or back on the page, the form is whole again:
// sending it a second time is safe, because it carries its own id. What the button said stays in
// its data-words.

const patience = 20_000;

export default (form) => {
  let undo = null;

  const reset = () => {
    undo?.();
    undo = null;
  };

  const mark = (button) => {
    const text = button?.querySelector('span');
    if (!text) return () => {};
    const words = text.textContent;
    button.dataset.words = words;
    text.textContent = form.dataset.busy;
    button.setAttribute('aria-disabled', 'true');
    return () => {
      text.textContent = words;
      button.removeAttribute('aria-disabled');
    };
  };

  form.addEventListener('submit', (event) => {
    if (event.defaultPrevented) return;
    if (undo) {
      event.preventDefault();
      return;
    }
    undo = mark(event.submitter);
    setTimeout(reset, patience);
  });

  addEventListener('pageshow', reset);
};
