// once: a form is sent once, however often its button is pressed. data-busy on the form holds
// the words for the button meanwhile. The button is not disabled: its name and value travel
// with the form. Coming back to the page makes the form whole again.

export default (form) => {
  let pressed = null;
  let words = '';

  const reset = () => {
    if (!pressed) return;
    pressed.removeAttribute('aria-disabled');
    pressed.querySelector('span').textContent = words;
    pressed = null;
  };

  form.addEventListener('submit', (event) => {
    if (event.defaultPrevented) return;
    if (pressed) {
      event.preventDefault();
      return;
    }
    pressed = event.submitter;
    const text = pressed?.querySelector('span');
    if (!text) return;
    words = text.textContent;
    text.textContent = form.dataset.busy;
    pressed.setAttribute('aria-disabled', 'true');
  });

  addEventListener('pageshow', reset);
};
