package main

import (
	"errors"
	"fmt"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"setwright/internal/measure/list"
	"setwright/internal/store"
	"setwright/internal/workshop"
)

// bookDir is the folder of the book: --book, else SETWRIGHT_BOOK, else
// setwright-book in the current folder.
func bookDir(cmd *cobra.Command) string {
	if dir, err := cmd.Flags().GetString("book"); err == nil && dir != "" {
		return dir
	}
	if dir := os.Getenv("SETWRIGHT_BOOK"); dir != "" {
		return dir
	}
	return "setwright-book"
}

// openShop opens the workshop on the book. create makes the book where there
// is none; commands that only look do not.
func openShop(cmd *cobra.Command, create bool) (*workshop.Shop, func(), error) {
	registry, err := list.Registry()
	if err != nil {
		return nil, nil, err
	}
	book, err := store.Open(cmd.Context(), bookDir(cmd), store.Options{Create: create})
	if errors.Is(err, store.ErrReadOnly) {
		book, err = openReadOnly(cmd, err)
	}
	if errors.Is(err, store.ErrNotFound) {
		err = fmt.Errorf("%w; name one with --book, or begin one with: setwright set add NAME", err)
	}
	if err != nil {
		return nil, nil, err
	}
	return workshop.New(book, registry), func() { _ = book.Close() }, nil
}

// openReadOnly opens a book that cannot be written, so that it can be read; what
// wants to write is refused when it comes to it.
func openReadOnly(cmd *cobra.Command, why error) (*store.Book, error) {
	book, err := store.Open(cmd.Context(), bookDir(cmd), store.Options{ReadOnly: true})
	if err != nil {
		return nil, errors.Join(why, err)
	}
	fmt.Fprintf(cmd.ErrOrStderr(), "setwright: the book in %s cannot be written; it is open for reading only\n", bookDir(cmd))
	return book, nil
}

// withOrWithoutBook is withShop for what can do without a book: where none is
// needed and there is none, none is made.
func withOrWithoutBook(cmd *cobra.Command, needed bool, do func(*workshop.Shop) error) error {
	shop, done, err := openShop(cmd, false)
	if errors.Is(err, store.ErrNotFound) && !needed {
		registry, err := list.Registry()
		if err != nil {
			return err
		}
		return do(workshop.New(nil, registry))
	}
	if err != nil {
		return err
	}
	defer done()
	return do(shop)
}

// withShop runs a function on the workshop and closes the book after it.
func withShop(cmd *cobra.Command, create bool, do func(*workshop.Shop) error) error {
	shop, done, err := openShop(cmd, create)
	if err != nil {
		return err
	}
	defer done()
	return do(shop)
}

// parseDay reads a date as people type it on a command line; empty is zero.
func parseDay(text string) (time.Time, error) {
	t, err := workshop.ParseMoment(text)
	if err != nil {
		return t, usageError{err}
	}
	return t, nil
}

// pairs reads NAME=VALUE arguments.
func pairs(what string, args []string) (map[string]string, error) {
	out := map[string]string{}
	for _, a := range args {
		name, value, ok := strings.Cut(a, "=")
		if !ok || name == "" {
			return nil, usagef("%s %q: expected NAME=VALUE", what, a)
		}
		out[name] = value
	}
	return out, nil
}
