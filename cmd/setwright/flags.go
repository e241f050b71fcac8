package main

import (
	"errors"
	"strings"

	"github.com/spf13/cobra"

	"setwright/internal/intake"
	"setwright/internal/measure"
)

// optionFlags adds one flag for each option of a measurement and returns a
// function that collects those given and refuses wrong ones.
func optionFlags(cmd *cobra.Command, about measure.About) func() (map[string]string, error) {
	for _, o := range about.Options {
		help := o.Title
		if len(o.Choices) > 0 {
			help += ": " + strings.Join(o.Choices, ", ")
		}
		if o.Example != "" && len(o.Choices) == 0 {
			help += ", for example \"" + o.Example + "\""
		}
		if o.Default != "" {
			help += " (default " + o.Default + ")"
		}
		if o.Help != "" {
			help += ". " + o.Help
		}
		if cmd.Flags().Lookup(flagName(o.Name)) == nil { // two measurements may have an option of one name
			cmd.Flags().String(flagName(o.Name), "", help)
		}
	}
	return func() (map[string]string, error) {
		out := map[string]string{}
		for _, o := range about.Options {
			text, err := cmd.Flags().GetString(flagName(o.Name))
			if err != nil {
				return nil, err
			}
			if text == "" {
				continue
			}
			if err := o.Check(text); err != nil {
				return nil, optionError(o.Name, err)
			}
			out[o.Name] = text
		}
		return out, nil
	}
}

// measurementFlags adds --measurement and one flag for each option of every
// measurement, and returns a function that gives the measurement chosen with
// the options given. An option that the chosen one does not have is refused.
func measurementFlags(cmd *cobra.Command, registry *measure.Registry) func() (measure.About, map[string]string, error) {
	kind := cmd.Flags().String("measurement", registry.Usual(), "what was measured: "+strings.Join(registry.IDs(), ", "))
	read := map[string]func() (map[string]string, error){}
	for _, id := range registry.IDs() {
		if m, err := registry.Get(id); err == nil {
			read[id] = optionFlags(cmd, m.About())
		}
	}
	hideOptions(cmd, registry)
	return func() (measure.About, map[string]string, error) {
		m, err := registry.Get(*kind)
		if err != nil {
			return measure.About{}, nil, usageError{err}
		}
		about := m.About()
		for id := range read {
			other, err := registry.Get(id)
			if err != nil {
				return about, nil, err
			}
			if name := foreignOption(cmd, about, other.About()); name != "" {
				return about, nil, usagef("--%s: %s has no such option", flagName(name), about.Title)
			}
		}
		given, err := read[*kind]()
		return about, given, err
	}
}

// hideOptions leaves the options of the measurements out of a command's help,
// where those of all of them, told as one of them means them, would bury the
// rest; the help of "analyse" tells them for each.
func hideOptions(cmd *cobra.Command, registry *measure.Registry) {
	for _, id := range registry.IDs() {
		m, err := registry.Get(id)
		if err != nil {
			continue
		}
		for _, o := range m.About().Options {
			_ = cmd.Flags().MarkHidden(flagName(o.Name))
		}
	}
	if cmd.Long != "" {
		cmd.Long += "\n\n"
	}
	cmd.Long += "What was set at the bench is said by the options of the measurement, such as --dial and --agc;\n" +
		"they are told by \"setwright analyse KIND --help\", KIND being one of\n" + strings.Join(registry.IDs(), ", ") + "."
}

// foreignOption returns an option of another measurement that was given and
// that the chosen one does not have.
func foreignOption(cmd *cobra.Command, chosen, other measure.About) string {
	own := map[string]bool{}
	for _, o := range chosen.Options {
		own[o.Name] = true
	}
	for _, o := range other.Options {
		if !own[o.Name] && cmd.Flags().Changed(flagName(o.Name)) {
			return o.Name
		}
	}
	return ""
}

// optionError names the flag of an option that was given wrongly.
func optionError(name string, err error) error {
	var wrong *measure.OptionError
	if errors.As(err, &wrong) {
		return usagef("--%s: %s", flagName(name), wrong.Text)
	}
	return usageError{err}
}

// flagName is the flag of an option: "off_time" is --off-time.
func flagName(option string) string { return strings.ReplaceAll(option, "_", "-") }

// overrideFlags adds the flags that put an import right and returns a function
// that reads them. A flag of the same name that the measurement has already
// wins.
func overrideFlags(cmd *cobra.Command) func() (intake.Override, error) {
	values := map[string]*[]string{}
	for _, pair := range intake.OverrideNames() {
		name := pair[0]
		if cmd.Flags().Lookup(name) != nil {
			continue
		}
		values[name] = cmd.Flags().StringArray(name, nil, "reading the file: "+pair[1])
	}
	return func() (intake.Override, error) {
		var o intake.Override
		for _, pair := range intake.OverrideNames() {
			given := values[pair[0]]
			if given == nil {
				continue
			}
			for _, text := range *given {
				if err := o.Set(pair[0], text); err != nil {
					return o, usagef("--%w", err)
				}
			}
		}
		return o, nil
	}
}
