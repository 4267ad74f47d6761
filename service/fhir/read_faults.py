"""Which stable words say what is wrong with a resource or a Bundle that was sent?

Beside the words ``shape.…`` and ``sense.…`` that the native interface has too.
"""

FORM_FAULTS = {
    "form.answer_type": "The answer is in another value[x] than the question asks for.",
    "form.authored": "authored lacks the time and offset that observed_at needs.",
    "form.code": "The code is none of those the question has.",
    "form.comparator": "A quantity has a comparator, so that it is not a value that was measured.",
    "form.contained": "A contained resource was sent.",
    "form.contradiction": "Any device will do, and devices are listed.",
    "form.disagrees": "The items and what stands outside them say different things.",
    "form.extension": "An extension was sent that is not known.",
    "form.identifier": "An identifier lacks its system or value, is not in use, or is not theirs.",
    "form.modifier": "A modifier extension or modifying element was sent.",
    "form.no_value": "An answer holds no value.",
    "form.none_beside": "None was chosen beside something else.",
    "form.not_kept": "An element was sent that would not be kept.",
    "form.place": "An item, answer or question stands where the form has none.",
    "form.profile": "A profile is claimed that is not known.",
    "form.questionnaire": "Another form was answered, or another version of it.",
    "form.reference": "A reference cannot be followed, or names the wrong kind of thing.",
    "form.repeated": "A question was answered in two items.",
    "form.resource_type": "It is not the type of resource that is taken here.",
    "form.several": "Several answers were given where one is taken.",
    "form.status": "A response with that status cannot be taken here.",
    "form.system": "The code or unit is of another system.",
    "form.unable": "Not able is said with anything but true.",
    "form.unit": "The quantity is in another unit.",
    "form.unknown_link": "The form has no question with that linkId.",
    "shape.choice": "Two types of one value[x] were sent.",
    "bundle.entry_type": "An entry holds a type of resource that cannot be written here.",
    "bundle.full_url": "A fullUrl is not absolute, or comes twice.",
    "bundle.method": "An entry asks for a method that is not served here.",
    "bundle.patient_alone": "No response in the transaction refers to the Patient.",
    "bundle.same_resource": "Two entries of a transaction change the same resource.",
    "bundle.too_many": "The Bundle has too many entries.",
    "bundle.type": "The Bundle is neither a transaction nor a batch.",
    "bundle.unresolved": "A reference names an entry that is not in the Bundle.",
    "bundle.url": "request.url does not fit the method or the resource.",
}
"""Rule word → what it means."""
