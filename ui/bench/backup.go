package bench

// backUp asks where to a copy of the workbook is to go, and makes it once the bench is kept
// as it is seen.
func (m *Model) backUp() dialog {
	return newPrompt(m, prompt{
		title: "Back up the workbook to which new file? Enter alone puts the copy beside it, where restore finds it",
		accept: func(m *Model, typed string) (Request, error) {
			m.Say("Copying the workbook …")
			return Ask{Alone: true, Do: func(s Shelf) func(m *Model) Request {
				full, err := s.Backup(typed)
				if err != nil {
					return failed("There is no backup", err)
				}
				return func(m *Model) Request {
					m.Say("The workbook is copied and checked: %s", full)
					return nil
				}
			}}, nil
		},
	})
}
