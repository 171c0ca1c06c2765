// start: for each element with data-module="one two" imports ./one.js, ./two.js and calls their
// default export with the element, once. A module that is missing or throws leaves its element
// as it was, which works without it.

const start = async (element, name) => {
  const module = await import(`./${name}.js`);
  module.default(element);
};

for (const element of document.querySelectorAll('[data-module]')) {
  for (const name of element.dataset.module.split(' ')) {
    start(element, name).catch((why) => console.error(`module ${name}`, why));
  }
}

// Where the page of now has just replaced one that a phone kept, a tap was meant for that one.
const replaced = Date.now() - Number(sessionStorage.getItem('tide-replaced')) < 1_000;
if (replaced) {
  addEventListener('click', (event) => {
    if (event.isTrusted && performance.now() < 700) {
      event.preventDefault();
      event.stopPropagation();
    }
  }, true);
}
